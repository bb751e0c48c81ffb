"""The page in a real browser: every action with mouse and with keys, reloads, two tabs, a server that dies."""

from __future__ import annotations

import json
import re
import shutil
import time

import pytest

from episode.claims.decided import decided
from episode.day.undoing import current
from episode.make import prepared
from episode.review.desk import Desk
from tests.drafting.invented import film_day
from tests.review.browsing import FLAGS, Server, Table, chromium, spoken_day

sync_api = pytest.importorskip("playwright.sync_api")
pytestmark = pytest.mark.skipif(chromium() is None, reason="needs Debian's chromium")


@pytest.fixture(scope="module")
def browser():
    with sync_api.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def made_day(tmp_path_factory):
    return spoken_day(tmp_path_factory.mktemp("browser") / "2026-05-03-skelby-sands")


@pytest.fixture(scope="module")
def read(made_day):
    return prepared(made_day)


@pytest.fixture
def server(made_day, read):
    (made_day / "decisions.jsonl").unlink(missing_ok=True)
    started = Table(made_day).start(read)
    yield started
    started.stop()


@pytest.fixture
def tab(browser, server):
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    page = watched(context)
    page.goto(server.url)
    yield page
    assert page.complaints == []
    context.close()


def watched(context):
    """A page that remembers what the browser complained of."""
    page = context.new_page()
    page.complaints = []
    page.on("pageerror", lambda error: page.complaints.append(f"script: {error}"))
    page.on("dialog", lambda dialog: (page.complaints.append(f"dialog: {dialog.message}"), dialog.dismiss()))
    page.on(
        "console",
        lambda message: (
            page.complaints.append(message.text)
            if message.type == "error" and "favicon" not in message.text and "404" not in message.text
            else None
        ),
    )
    return page


def sheet(page, name):
    return page.locator("#tray > li.sheet", has=page.get_by_role("button", name=re.compile(f"^{name}$", re.I))).first


def take(page, name):
    settled(page)
    found = sheet(page, name)
    found.locator(".take").click()
    until(page, f"document.querySelector('#hand .held')?.dataset.key == {json.dumps(found.get_attribute('data-key'))}")


def until(page, true):
    """Wait for what the page's own policy keeps the browser's waiting from asking."""
    end = time.monotonic() + 15
    while not page.evaluate(true):
        assert time.monotonic() < end, f"it did not come about: {true}"
        page.wait_for_timeout(50)


def settled(page):
    """Wait until the page shows all that the server knows."""
    until(
        page,
        "fetch('/changes?since=' + document.body.dataset.version).then((answer) => answer.json())"
        ".then((given) => !given.working && !given.order && !Object.keys(given.parts).length)",
    )


def test_a_find_is_picked_up_seen_and_found_right(tab, server):
    take(tab, "pipe bowl")
    until(tab, "document.getElementById('player')?.readyState >= 1")
    assert tab.evaluate("document.getElementById('player').currentTime") > 1
    tab.get_by_role("button", name="Right", exact=True).click()
    assert server.line("accept")["term"] == "pipe bowl"
    tab.get_by_text("looked at, right").first.wait_for()
    tab.reload()
    assert sheet(tab, "pipe bowl").get_by_text("looked at, right").count() == 1


def test_named_and_undone_and_done_again(tab, server):
    take(tab, "thimble")
    form = tab.locator('#hand form[data-do="rename"]')
    form.locator("input").fill("sailmaker's thimble")
    form.get_by_role("button").click()
    assert server.line("rename")["value"] == "sailmaker's thimble"
    sheet(tab, "sailmaker's thimble").wait_for()
    settled(tab)
    tab.locator("#undo").click()
    sheet(tab, "thimble").wait_for()
    tab.locator("#history").get_by_role("button", name=re.compile("^Do again")).click()
    sheet(tab, "sailmaker's thimble").wait_for()
    assert [x["action"] for x in server.lines()] == ["rename", "undo", "undo"]


def test_what_it_is_and_its_row(tab, server):
    take(tab, "musket ball")
    tab.locator('#hand form[data-do="stance"] select').select_option("earlier")
    tab.locator('#hand form[data-do="stance"]').get_by_role("button").click()
    assert server.line("stance")["value"] == "earlier"
    settled(tab)
    take(tab, "thimble")
    tab.locator('#hand form[data-do="pair"] select').select_option("")
    tab.locator('#hand form[data-do="pair"]').get_by_role("button").click()
    assert server.line("pair")["value"] is None
    sheet(tab, "thimble").get_by_text("Not in the log").wait_for()


def test_times_are_set_and_moments_split_and_joined(tab, server):
    take(tab, "pipe bowl")
    form = tab.locator('#hand form[data-do="move"]')
    begin = form.locator('[name="start"]').input_value()
    form.locator('[name="end"]').fill("0:52.5")
    form.get_by_role("button", name="Set").click()
    moved = server.line("move")
    assert moved["new_end"] == 52.5 and f"{moved['new_start'] % 60:.1f}" == f"{float(begin.split(':')[1]):.1f}"
    settled(tab)
    until(tab, "document.querySelector('#hand form[data-do=\"move\"] [name=\"end\"]')?.value == '0:52.5'")
    tab.locator("#hand summary", has_text="Split").click()
    split = tab.locator('#hand form[data-do="split"]')
    split.locator("input").fill("0:30")
    split.get_by_role("button", name="Split").click()
    assert server.line("split")["value"] == 30
    settled(tab)
    until(tab, "document.querySelector('#hand form[data-do=\"move\"] [name=\"end\"]')?.value == '0:30.0'")
    tab.locator('#hand button[data-do="join"]').click()
    server.line("join")


def test_a_find_that_was_missed_is_added_and_another_set_aside(tab, server):
    take(tab, "pipe bowl")
    tab.locator("#hand summary", has_text="not spotted").click()
    form = tab.locator('#hand form[data-do="add"]')
    form.locator('[name="value"]').fill("lead weight")
    form.locator('[name="start"]').fill("0:03")
    form.locator('[name="end"]').fill("0:06")
    form.get_by_role("button", name="Add").click()
    assert server.line("add")["value"] == "lead weight"
    sheet(tab, "lead weight").wait_for()
    take(tab, "lead weight")
    tab.get_by_role("button", name="Not a find").click()
    server.line("reject")
    settled(tab)
    until(tab, "![...document.querySelectorAll('.sheet .take')].some(x => x.textContent == 'lead weight')")


def test_a_still_is_chosen(tab, server):
    take(tab, "pipe bowl")
    tab.locator("#hand summary", has_text="still").click()
    frame = tab.locator("#hand .frames button").nth(2)
    until(tab, "document.querySelectorAll('#hand .frames img')[2].naturalWidth > 0")
    frame.click()
    assert server.line("still")["value"] > 0


def test_claims_promises_and_chapters(tab, server):
    claim = tab.locator(".claim.unreferenced").first
    claim.get_by_role("button", name="Reference…").click()
    tab.locator("form.asking input").fill("Oswald 1975, p. 37")
    tab.locator("form.asking").get_by_role("button", name="Set").click()
    assert server.line("reference")["value"] == "Oswald 1975, p. 37"
    tab.get_by_text("Your reference: Oswald 1975, p. 37").first.wait_for()
    settled(tab)
    claim = tab.locator(".claim.contradicted").first
    claim.get_by_role("button", name="Strike").click()
    assert server.line("strike")["value"] is True
    tab.get_by_text("Struck from the description.").first.wait_for()
    settled(tab)
    claim = tab.locator(".claim").nth(0)
    claim.get_by_role("button", name="Reword…").click()
    tab.locator("form.asking input").fill("late in the century")
    tab.locator("form.asking").get_by_role("button", name="Set").click()
    assert server.line("reword")["value"] == "late in the century"
    settled(tab)
    owed = tab.locator("#promises li.open").first
    owed.get_by_role("button", name="Kept…").click()
    tab.locator("form.asking input").fill("in the comment below the film")
    tab.locator("form.asking").get_by_role("button", name="Set").click()
    assert server.line("kept")["value"] == "in the comment below the film"
    settled(tab)
    tab.locator('#chapters [data-ask="title"]').nth(1).click()
    tab.locator("form.asking input").fill("The pipe")
    tab.locator("form.asking").get_by_role("button", name="Set").click()
    assert server.line("title")["value"] == "The pipe"
    tab.locator("#chapters").get_by_text("The pipe", exact=True).wait_for()
    settled(tab)
    tab.locator("#chapters").get_by_role("button", name=re.compile("Join the chapter")).last.click()
    server.line("drop")
    settled(tab)
    tab.locator('#chapters [data-ask="begin"]').nth(1).click()
    tab.locator("form.asking input").fill("0:19")
    tab.locator("form.asking").get_by_role("button", name="Set").click()
    assert server.line("begin")["value"] == 19
    settled(tab)
    end = time.monotonic() + 30
    while server.desk.since(0)["working"] or server.desk.since(0)["unwritten"]:
        assert time.monotonic() < end, "the results were not written"
        tab.wait_for_timeout(100)
    written = json.loads((server.day / "out" / "chapters.json").read_text(encoding="utf-8"))["chapters"]
    assert (written[1]["title"], written[1]["start"]) == ("The pipe", 19)


def test_claims_and_promises_of_a_voice_over(tmp_path, browser):
    day = film_day()
    server = Table(tmp_path).open(Desk(tmp_path, day, work=with_film(day), write=lambda day: day))
    context = browser.new_context()
    page = watched(context)
    page.goto(server.url)
    claim = page.locator(".film-part .claim")
    claim.get_by_role("button", name="Reference…").click()
    page.locator("form.asking input").fill("GB 3070 of 1870")
    page.keyboard.press("Enter")
    assert (server.line("reference")["clip"], server.line("reference")["value"]) == ("film.mp4", "GB 3070 of 1870")
    claim.get_by_text("Your reference: GB 3070 of 1870").wait_for()
    settled(page)
    claim.get_by_role("button", name="Reword…").focus()
    page.keyboard.press("Enter")
    page.keyboard.type("patented in 1870")
    page.keyboard.press("Enter")
    assert server.line("reword")["value"] == "patented in 1870"
    settled(page)
    claim.get_by_role("button", name="Strike").click()
    assert server.line("strike")["value"] is True
    claim.get_by_role("button", name="Let stand").click()
    server.line("strike", 2)
    settled(page)
    owed = page.locator("#promises li.open", has_text="of the film")
    owed.get_by_role("button", name="Kept…").click()
    page.locator("form.asking input").fill("the card at the end")
    page.keyboard.press("Enter")
    assert server.line("kept")["clip"] == "film.mp4"
    page.locator("#undo").click()
    server.line("undo")
    page.reload()
    assert page.locator(".film-part").get_by_text("In your words: patented in 1870").count() == 1
    assert page.complaints == []
    context.close()
    server.stop()


def with_film(day):
    def work(decisions):
        claims, promises, _ = decided(day.film.found_claims, day.film.found_promises, current(decisions))
        return day.model_copy(update={"film": day.film.model_copy(update={"claims": claims, "promises": promises})})

    return work


def test_what_is_being_written_stays_while_the_page_changes_around_it(tab, server):
    """The run behind puts parts in place; the one in which somebody is writing waits for them."""
    owed = tab.locator("#promises li.open")
    assert owed.count() >= 2
    owed.nth(0).get_by_role("button", name="Kept…").click()
    tab.locator("form.asking input").fill("the first comment")
    tab.keyboard.press("Enter")
    server.line("kept")
    tab.locator("#promises li.open").last.get_by_role("button", name="Kept…").click()
    tab.locator("form.asking input").fill("the card at the e")
    end = time.monotonic() + 30
    while server.desk.since(0)["working"] or server.desk.since(0)["unwritten"]:
        assert time.monotonic() < end, "the results were not written"
        tab.wait_for_timeout(100)
    settled(tab)
    tab.keyboard.type("nd")
    tab.keyboard.press("Enter")
    assert server.line("kept", 2)["value"] == "the card at the end"
    settled(tab)
    assert tab.locator("#promises").get_by_text("the first comment").count() == 1
    assert tab.locator("#promises").get_by_text("the card at the end").count() == 1


def test_what_is_refused_is_said(tab, server):
    take(tab, "pipe bowl")
    form = tab.locator('#hand form[data-do="move"]')
    form.locator('[name="start"]').fill("soon")
    form.get_by_role("button", name="Set").click()
    tab.get_by_text("“soon” is no time").wait_for()
    assert server.lines() == []
    tab.complaints.clear()  # the refusal itself is a 422 in the console


def test_everything_by_keys_alone(tab, server):
    tab.locator("#tray > li.sheet .take").first.focus()
    first = tab.evaluate("document.activeElement.closest('li').id")
    tab.keyboard.press("ArrowDown")
    assert tab.evaluate("document.activeElement.closest('li').id") != first
    tab.keyboard.press("ArrowUp")
    assert tab.evaluate("document.activeElement.closest('li').id") == first
    tab.keyboard.press("g")
    server.line("accept")
    settled(tab)
    tab.keyboard.press("x")
    server.line("reject")
    settled(tab)
    tab.keyboard.press("u")
    server.line("undo")
    settled(tab)
    tab.keyboard.press("Enter")
    tab.locator("#hand .held").wait_for()
    tab.locator("#tray > li.sheet .take").first.focus()
    tab.keyboard.press("n")
    until(tab, "document.activeElement.name === 'value'")
    tab.keyboard.press("Control+a")
    tab.keyboard.type("church warden pipe")
    tab.keyboard.press("Enter")
    assert server.line("rename")["value"] == "church warden pipe"
    settled(tab)
    for key, field in (("i", "SELECT"), ("l", "SELECT"), ("f", "INPUT")):
        tab.locator("#tray > li.sheet .take").first.focus()
        tab.keyboard.press(key)
        until(tab, f"document.activeElement.tagName === '{field}'")
    tab.keyboard.press("Escape")
    assert tab.locator("#hand .held").count() == 0
    assert tab.evaluate("document.activeElement.className") == "take"
    tab.keyboard.press("w")
    assert tab.evaluate("document.activeElement.closest('li').dataset.needs") != ""


def test_typing_a_name_decides_nothing(tab, server):
    take(tab, "pipe bowl")
    tab.locator('#hand form[data-do="rename"] input').click()
    tab.keyboard.type("gxuniplw")
    tab.locator("#search").click()
    tab.keyboard.type("gxu")
    tab.wait_for_timeout(300)
    assert server.lines() == []


def test_searching_and_filtering(tab):
    tab.locator("#search").fill("pipe")
    shown = tab.locator("#tray > li:visible").count()
    assert 0 < shown < tab.locator("#tray > li").count()
    tab.locator("#search").fill("")
    tab.locator("#needs").check()
    assert all(n for n in tab.eval_on_selector_all("#tray > li:not([hidden])", "x => x.map(e => e.dataset.needs)"))
    tab.locator("#needs").uncheck()
    tab.locator('button[data-kind="contradicted"]').click()
    assert tab.locator('button[data-kind="contradicted"]').get_attribute("aria-pressed") == "true"
    assert tab.locator("#tray > li:visible .claim.contradicted").count() >= 1


def test_what_one_tab_decides_the_other_shows(tab, server, browser):
    other = watched(tab.context)
    other.goto(server.url)
    take(tab, "pipe bowl")
    tab.get_by_role("button", name="Right", exact=True).click()
    server.line("accept")
    sheet(other, "pipe bowl").get_by_text("looked at, right").wait_for(timeout=10_000)
    take(other, "thimble")
    other.get_by_role("button", name="Right", exact=True).click()
    server.line("accept", 2)
    sheet(tab, "thimble").get_by_text("looked at, right").wait_for(timeout=10_000)
    assert other.complaints == []


def test_a_server_that_dies_is_said_and_loses_nothing(made_day, browser):
    (made_day / "decisions.jsonl").unlink(missing_ok=True)
    server = Server(made_day).start()
    context = browser.new_context()
    page = watched(context)
    page.goto(server.url)
    names = ("pipe bowl", "thimble", "musket ball")
    for name in names[:2]:
        take(page, name)
        page.get_by_role("button", name="Right", exact=True).click()
    server.line("accept", 2)
    server.kill()
    take_name = sheet(page, names[2]).locator(".take")
    take_name.focus()
    page.keyboard.press("g")
    page.get_by_text("Not saved").wait_for()
    again = Server(made_day).start()
    fresh = watched(context)
    fresh.goto(again.url)
    assert fresh.locator("#tray").get_by_text("looked at, right").count() == 2
    assert len(again.lines()) == 2
    again.stop()
    context.close()


def test_it_plays_the_sound_where_the_clip_cannot_be_played(tab):
    take(tab, "pipe bowl")
    tab.get_by_role("button", name="Sound alone").click()
    until(tab, "document.querySelector('audio#player')?.readyState >= 1")
    assert tab.evaluate("document.getElementById('player').duration") > 5


def test_nothing_serious_is_found_by_axe_and_nothing_runs_over(server, browser):
    for width, height in ((1440, 900), (1024, 768), (390, 844)):
        for scheme in ("light", "dark"):
            looked_over(server, browser, scheme, width, height)


def looked_over(server, browser, scheme, width, height):
    """By axe-core's rules for WCAG 2.2 A and AA."""
    from axe_playwright_python.sync_playwright import Axe

    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme=scheme, bypass_csp=True, reduced_motion="reduce"
    )
    page = context.new_page()
    page.goto(server.url)
    take(page, "pipe bowl")
    page.wait_for_timeout(300)
    found = Axe().run(page).response["violations"]
    serious = [
        (v["id"], [n["target"] for n in v["nodes"]][:3]) for v in found if v["impact"] in {"serious", "critical"}
    ]
    assert serious == [], (width, scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()


def test_the_page_for_reading_opens_without_a_server(made_day, server, browser):
    from axe_playwright_python.sync_playwright import Axe

    context = browser.new_context(viewport={"width": 1024, "height": 768}, bypass_csp=False)
    page = watched(context)
    page.goto((made_day / "out" / "review.html").as_uri())
    assert page.locator("#tray > li").count() > 10
    assert page.locator("#hand, [data-do], [data-ask]").count() == 0
    page.locator("#search").fill("pipe")
    assert page.locator("#tray > li:visible").count() < page.locator("#tray > li").count()
    assert page.complaints == []
    context.close()
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    page.goto((made_day / "out" / "review.html").as_uri())
    found = Axe().run(page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in {"serious", "critical"}] == []
    context.close()


def test_hostile_words_are_shown_and_never_run(tmp_path, browser):
    wicked = "<img src=x onerror=alert(1)><script>alert(2)</script>{{ 7 * 7 }}\"'--></title>"
    day = spoken_day(tmp_path / "2026-05-03-skelby-sands")
    clip = next((day / "footage" / "hand").glob("*.mp4"))
    evil = clip.with_name("<img src=x onerror=alert(3)>.mp4")
    clip.rename(evil)
    clip.with_suffix(".txt").rename(evil.with_suffix(".txt"))
    words = evil.with_suffix(".txt")
    words.write_text(words.read_text(encoding="utf-8") + f"\n[0:50] {wicked} a clay pipe {wicked}\n", encoding="utf-8")
    log = day / "finds.csv"
    rows = log.read_text(encoding="utf-8").splitlines()
    cell = '"' + wicked.replace('"', '""') + '"'
    log.write_text("\n".join([rows[0], *[r.replace("whole", cell, 1) for r in rows[1:]]]) + "\n", encoding="utf-8")
    toml = day / "episode.toml"
    toml.write_text(re.sub(r"(?m)^title = .*$", f"title = {json.dumps(wicked)}", toml.read_text(encoding="utf-8")))
    server = Table(day).start(prepared(day))
    context = browser.new_context()
    page = watched(context)
    page.goto(server.url)
    page.wait_for_timeout(300)
    assert "alert(2)" in page.locator("h1").inner_text() and "{{ 7 * 7 }}" in page.locator("h1").inner_text()
    for number in range(min(6, page.locator(".take").count())):
        page.locator(".take").nth(number).click()
        page.locator("#hand .held").wait_for()
    form = page.locator('#hand form[data-do="rename"]')
    form.locator("input").fill(wicked[:100])
    form.get_by_role("button").click()
    page.wait_for_timeout(2500)
    assert page.locator('img[src="x"]').count() == 0
    assert page.complaints == []
    context.close()
    server.stop()
    shutil.rmtree(day)
