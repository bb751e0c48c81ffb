"use strict";
(() => {
  const root = document.documentElement;
  root.classList.add("js");
  const search = document.getElementById("search");
  const needs = document.getElementById("needs");
  const shown = document.getElementById("shown");
  let items = [];
  let lists = [];
  let wanted;

  // What an element says is read once: only those that a decision changed are new.
  const known = new WeakMap();

  function read(element) {
    const item = {
      element,
      text: element.textContent.toLocaleLowerCase(),
      needs: element.dataset.needs.split(" ").filter(Boolean),
      line: "line" in element.dataset,
    };
    known.set(element, item);
    return item;
  }

  function collect() {
    items = [...document.querySelectorAll("[data-item]")].map((element) => known.get(element) ?? read(element));
    lists = [...document.querySelectorAll("#spoken details")];
  }

  function apply() {
    const words = search.value.toLocaleLowerCase().trim().split(/\s+/).filter(Boolean);
    const tags = [...document.querySelectorAll("button[data-kind]")];
    const kind = tags.some((tag) => tag.dataset.kind === wanted) ? wanted : undefined;
    for (const tag of tags) tag.setAttribute("aria-pressed", String(tag.dataset.kind === kind));
    const filtered = needs.checked || kind !== undefined;
    let count = 0;
    for (const item of items) {
      const asked = item.line ? !filtered : kind ? item.needs.includes(kind) : !needs.checked || item.needs.length > 0;
      const visible = asked && words.every((word) => item.text.includes(word));
      if (item.element.hidden === visible) item.element.hidden = !visible;
      count += visible && !(item.line && words.length === 0) ? 1 : 0;
    }
    for (const list of lists) {
      const any = list.querySelector("[data-line]:not([hidden])") !== null;
      list.hidden = !any && (words.length > 0 || filtered);
      list.open = any && words.length > 0;
    }
    shown.textContent = words.length || filtered ? `${count} shown` : "";
    highlight(words);
  }

  function highlight(words) {
    if (!("highlights" in CSS)) return;
    CSS.highlights.delete("found");
    if (words.length === 0) return;
    const ranges = [];
    for (const item of items) {
      if (item.element.hidden) continue;
      const walker = document.createTreeWalker(item.element, NodeFilter.SHOW_TEXT);
      for (let node = walker.nextNode(); node && ranges.length < 2000; node = walker.nextNode()) {
        const text = node.data.toLocaleLowerCase();
        if (text.length !== node.data.length) continue;
        for (const word of words) {
          for (let at = text.indexOf(word); at >= 0; at = text.indexOf(word, at + word.length)) {
            const range = new Range();
            range.setStart(node, at);
            range.setEnd(node, at + word.length);
            ranges.push(range);
          }
        }
      }
    }
    CSS.highlights.set("found", new Highlight(...ranges));
  }

  document.addEventListener("click", (event) => {
    const tag = event.target.closest("button[data-kind]");
    if (!tag) return;
    wanted = wanted === tag.dataset.kind ? undefined : tag.dataset.kind;
    apply();
  });
  search.addEventListener("input", apply);
  needs.addEventListener("change", apply);
  addEventListener("pageshow", apply);
  addEventListener("parts", () => {
    collect();
    apply();
  });
  collect();
  apply();
})();
