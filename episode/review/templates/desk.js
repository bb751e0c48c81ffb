"use strict";
(() => {
  const body = document.body;
  const panel = document.getElementById("hand");
  const told = document.getElementById("told");
  const tray = document.getElementById("tray");
  const undoButton = document.getElementById("undo");
  let version = Number(body.dataset.version);
  let held = "";
  let soon = 0;
  let line = Promise.resolve();
  let gone = false;
  const late = new Map();

  // ---------------------------------------------------------------- talking to the server

  async function ask(path, options) {
    const answer = await fetch(path, { credentials: "same-origin", ...options });
    gone = false;
    return answer;
  }

  // One after the other, and none dropped, however fast they come.
  function decide(action, key, more, form) {
    const done = line.then(() => send(action, key, more, form));
    line = done;
    return done;
  }

  async function send(action, key, more = {}, form = null) {
    say("");
    try {
      const answer = await ask(`/decide?since=${version}`, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ action, key, ...more }),
      });
      const kind = answer.headers.get("content-type") ?? "";
      const given = kind.includes("json") ? await answer.json() : { refused: (await answer.text()).slice(0, 200) };
      if (!answer.ok) {
        say(`Not done: ${given.refused}`, true);
        return false;
      }
      if (action === "reject" && key === held) putDown();
      put(given, form);
      say(given.done);
      return true;
    } catch {
      gone = true;
      say("Not saved: the server does not answer. Start `episode review` again; what was saved before is kept.", true);
      return false;
    }
  }

  async function look() {
    clearTimeout(soon);
    let next = 2000;
    if (!document.hidden) {
      try {
        const answer = await ask(`/changes?since=${version}`);
        if (answer.ok) next = put(await answer.json()) ? 300 : 1500;
        else lost("The server was started anew. Open the address that it printed.");
      } catch {
        lost("The server does not answer. Start `episode review` again; what was saved is kept.");
      }
    }
    soon = setTimeout(look, next);
  }

  function lost(words) {
    if (!gone) say(words, true);
    gone = true;
  }

  function say(words, bad = false) {
    told.textContent = words;
    told.classList.toggle("bad", bad);
  }

  // ---------------------------------------------------------------- putting parts in place

  // A part in which somebody is writing waits until they are done (`form` is the one that was just answered).
  function put(given, form = null) {
    const keys = Object.keys(given.parts);
    const here = focused();
    for (const key of keys) {
      const old = document.querySelector(`[data-part="${CSS.escape(key)}"]`);
      if (old && beingWritten(old, form)) {
        late.set(key, given.parts[key]);
        continue;
      }
      late.delete(key);
      const fresh = made(given.parts[key]);
      if (old) swap(old, fresh);
      else if (given.order?.includes(key)) tray.append(fresh);
    }
    if (given.order) {
      const known = new Map([...tray.children].map((item) => [item.dataset.part, item]));
      const wanted = given.order.map((key) => known.get(key)).filter(Boolean);
      tray.replaceChildren(...wanted);
      if (held && !given.order.includes(held) && panel.querySelector("[data-from]")) follow();
    }
    body.classList.toggle("working", given.working);
    if (given.trouble) say(given.trouble, true);
    version = given.version;
    body.dataset.version = version;
    if (keys.length || given.order) {
      mark();
      dispatchEvent(new Event("parts"));
      restore(here);
    }
    return given.working;
  }

  const beingWritten = (part, but) => [...part.querySelectorAll("form.asking")].some((form) => form !== but);

  function catchUp() {
    const here = focused();
    let any = false;
    for (const [key, html] of [...late]) {
      const old = document.querySelector(`[data-part="${CSS.escape(key)}"]`);
      if (old && beingWritten(old)) continue;
      late.delete(key);
      if (old) swap(old, made(html));
      any = true;
    }
    if (!any) return;
    mark();
    dispatchEvent(new Event("parts"));
    restore(here);
  }

  // What was unfolded or scrolled stays so.
  function swap(old, fresh) {
    const [before, after] = [old, fresh].map((part) => [...part.querySelectorAll("details")]);
    if (before.length === after.length) after.forEach((list, index) => { list.open = before[index].open; });
    const scrolled = [...old.querySelectorAll(".draft, .history, pre, .scroll")].map((box) => [box.scrollTop, box.scrollLeft]);
    old.replaceWith(fresh);
    [...fresh.querySelectorAll(".draft, .history, pre, .scroll")].forEach((box, index) => {
      [box.scrollTop, box.scrollLeft] = scrolled[index] ?? [0, 0];
    });
  }

  function made(html) {
    const holder = document.createElement("template");
    holder.innerHTML = html;
    return holder.content.firstElementChild;
  }

  function focused() {
    const active = document.activeElement;
    const part = active?.closest?.("[data-part]");
    if (!part) return null;
    const all = [...part.querySelectorAll("button, a, input, summary")];
    return { part: part.dataset.part, place: all.indexOf(active), top: part.getBoundingClientRect().top };
  }

  function restore(here) {
    if (!here || document.activeElement !== document.body) return;
    const part = document.querySelector(`[data-part="${CSS.escape(here.part)}"]`);
    const all = part ? [...part.querySelectorAll("button, a, input, summary")] : [];
    (all[here.place] ?? all[0])?.focus({ preventScroll: true });
  }

  // ---------------------------------------------------------------- in hand

  async function take(key, { at, clip, was, play, focus } = {}) {
    const query = new URLSearchParams();
    if (at !== undefined) query.set("at", at);
    if (clip !== undefined) query.set("clip", clip);
    if (was !== undefined) query.set("was", was);
    const answer = await ask(`/hand/${key}?${query}`).catch(() => null);
    if (!answer?.ok) {
      if (was !== undefined) putDown();
      say("That has changed since; look at it again.", true);
      look();
      return;
    }
    const open = was === undefined ? [] : [...panel.querySelectorAll("details")].map((list) => list.open);
    const running = was === undefined ? null : document.getElementById("player");
    panel.innerHTML = await answer.text();
    held = panel.firstElementChild.dataset.key;
    panel.querySelectorAll("details").forEach((list, index) => { list.open = open[index] ?? list.open; });
    mark();
    body.classList.add("holding");
    if (focus) document.getElementById("hand-h").focus();
    if (running) {
      document.getElementById("player").replaceWith(running);
      return;
    }
    const player = document.getElementById("player");
    const box = panel.firstElementChild;
    const begin = at === undefined ? Number(box.dataset.begin) : Number(at);
    player.addEventListener("loadedmetadata", () => { player.currentTime = begin; }, { once: true });
    player.addEventListener("error", () => soundAlone(), { once: true });
    player.addEventListener("timeupdate", () => { document.getElementById("second").textContent = said(second()); });
    if (play) player.play().catch(() => {});
  }

  // What was in hand was split, joined or moved: hold what is there now.
  function follow() {
    const box = panel.firstElementChild;
    const within = panel.contains(document.activeElement);
    return take(held, { at: box.dataset.begin, was: box.dataset.clip, focus: within });
  }

  function putDown() {
    const key = held;
    panel.querySelector("video, audio")?.pause();
    panel.innerHTML = '<p class="empty">Pick up a find: choose its name, and it can be seen, heard and put right here.</p>';
    held = "";
    body.classList.remove("holding");
    mark();
    document.querySelector(`[data-part="${CSS.escape(key)}"] .take`)?.focus();
  }

  function mark() {
    for (const item of tray.querySelectorAll(".held-now")) item.classList.remove("held-now");
    if (held) tray.querySelector(`[data-part="${CSS.escape(held)}"]`)?.classList.add("held-now");
  }

  function soundAlone() {
    const box = panel.firstElementChild;
    const old = document.getElementById("player");
    if (!box?.dataset.clip || !old) return;
    const begin = Math.max(0, Number(box.dataset.begin) - 1);
    const sound = document.createElement("audio");
    sound.id = "player";
    sound.controls = true;
    sound.dataset.from = begin;
    sound.src = `/sound/${box.dataset.clip}.wav?from=${begin}&to=${Number(box.dataset.until) + 1}`;
    sound.addEventListener("timeupdate", () => { document.getElementById("second").textContent = said(second()); });
    sound.addEventListener("error", () => say("Neither picture nor sound of this clip can be played here.", true), { once: true });
    old.replaceWith(sound);
    sound.play().catch(() => {});
  }

  function second() {
    const player = document.getElementById("player");
    return player ? Number(player.dataset.from ?? 0) + player.currentTime : 0;
  }

  function said(seconds) {
    const tenths = Math.round(seconds * 10);
    return `${Math.floor(tenths / 600)}:${String(Math.floor((tenths % 600) / 10)).padStart(2, "0")}.${tenths % 10}`;
  }

  function playMoment() {
    const player = document.getElementById("player");
    const box = panel.firstElementChild;
    if (!player) return;
    if (!player.paused) {
      player.pause();
      return;
    }
    player.currentTime = Math.max(0, Number(box.dataset.begin) - Number(player.dataset.from ?? 0));
    player.play().catch(() => {});
  }

  // ---------------------------------------------------------------- what is pressed

  const LABELS = { reference: "Reference", reword: "In your words", kept: "Kept by", title: "Title", begin: "Begins at" };

  function inline(button) {
    const form = document.createElement("form");
    form.className = "asking";
    form.dataset.do = button.dataset.ask;
    const label = document.createElement("label");
    const words = document.createElement("span");
    words.textContent = LABELS[button.dataset.ask];
    const input = document.createElement("input");
    input.name = "value";
    input.value = button.dataset.now;
    input.maxLength = 2000;
    label.append(words, input);
    const set = document.createElement("button");
    set.textContent = "Set";
    const leave = document.createElement("button");
    leave.type = "button";
    leave.textContent = "Leave";
    leave.addEventListener("click", () => {
      form.replaceWith(button);
      button.focus();
      catchUp();
    });
    form.append(label, set, leave);
    form.before_ = button;
    button.replaceWith(form);
    input.focus();
    input.select();
  }

  const keyOf = (element) => element.closest("[data-key]")?.dataset.key ?? "";

  document.addEventListener("click", (event) => {
    const target = event.target.closest("button, a");
    if (!target) return;
    if (target.matches("[data-take]")) take(keyOf(target), { focus: matchMedia("(max-width: 68rem)").matches });
    else if (target.matches("a[data-play]")) {
      event.preventDefault();
      const [name, at] = target.getAttribute("href").replace(/^\.\.\/footage\//, "").split("#t=");
      const key = target.closest("[data-part][data-key]")?.dataset.key;
      if (key) take(key, { at, play: true });
      else take("clip", { clip: decodeURIComponent(name), at, play: true });
    } else if (target.matches("[data-ask]")) inline(target);
    else if (target.matches("button[data-do]")) press(target);
    else if (target.matches("[data-undo]")) decide("undo", "");
    else if (target.matches("[data-putdown]")) putDown();
    else if (target.matches("[data-from]")) playMoment();
    else if (target.matches("[data-sound]")) soundAlone();
    else if (target.matches("[data-mark]")) target.closest("form").elements[target.dataset.mark].value = said(second());
  });

  async function press(button) {
    const more = button.dataset.value === undefined ? {} : { value: button.dataset.value };
    const key = keyOf(button);
    const inHand = panel.contains(button);
    if ((await decide(button.dataset.do, key, more)) && inHand) again(button.dataset.do);
  }

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.dataset.do) return;
    event.preventDefault();
    const more = Object.fromEntries(new FormData(form).entries());
    const inHand = panel.contains(form);
    const key = keyOf(form);
    const asking = form.matches(".asking");
    if (form.sent_) return;
    form.sent_ = asking;
    const done = await decide(form.dataset.do, key, more, asking ? form : null);
    form.sent_ = false;
    if (done && inHand) again(form.dataset.do);
    if (done && asking) {
      if (form.isConnected) {
        form.replaceWith(form.before_);
        form.before_.focus();
      }
      catchUp();
    }
  });

  // What is in hand keeps its place after a decision; where its times or parts changed, `put` follows it.
  function again(action) {
    if (["split", "join", "move", "add"].includes(action)) setTimeout(look, 50);
  }

  // ---------------------------------------------------------------- keys

  const KEYS = { g: "accept", x: "reject" };
  const FIELDS = { n: 'form[data-do="rename"] input', i: 'form[data-do="stance"] select', l: 'form[data-do="pair"] select', f: 'form[data-do="move"] input' };

  document.addEventListener("keydown", async (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const active = document.activeElement;
    const typing = active?.matches?.("input, select, textarea");
    const item = active?.closest?.("#tray > li");
    const inPanel = panel.contains(active);
    if (event.key === "Escape") {
      if (active?.closest?.("form.asking")) active.closest("form").querySelector('button[type="button"]').click();
      else if (held) putDown();
      return;
    }
    if (typing || !(item || inPanel)) return;
    const key = item?.dataset.key ?? held;
    const letter = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (item && (letter === "ArrowDown" || letter === "ArrowUp")) {
      event.preventDefault();
      step(item, letter === "ArrowDown" ? 1 : -1, () => true);
    } else if (letter === "w") step(item ?? tray.querySelector(".held-now"), 1, (other) => other.dataset.needs !== "");
    else if (KEYS[letter] && key) decide(KEYS[letter], key);
    else if (letter === "u") decide("undo", "");
    else if (letter === "p") {
      if (key !== held) await take(key, { play: true });
      else playMoment();
    } else if (FIELDS[letter]) {
      event.preventDefault();
      if (key !== held) await take(key);
      panel.querySelector(FIELDS[letter])?.focus();
    }
  });

  function step(item, way, fits) {
    const items = [...tray.children].filter((other) => !other.hidden);
    for (let at = items.indexOf(item) + way; at >= 0 && at < items.length; at += way) {
      if (fits(items[at])) {
        items[at].querySelector(".take").focus();
        items[at].scrollIntoView({ block: "center" });
        return;
      }
    }
  }

  document.addEventListener("visibilitychange", () => { if (!document.hidden) look(); });
  undoButton.hidden = false;
  look();
})();
