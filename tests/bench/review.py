"""How quickly the review page shows and answers, on a day as large as they come (``tests/big_day.py``).

Usage: python -m tests.bench.review

Prints the sizes of the page, how long the server takes to give it and to answer one action of each sort, how long a
working-through in the background takes, and in Chromium (where it is) the time to the first view and from a press to
the changed sheet.
"""

from __future__ import annotations

import shutil
import socket
import statistics
import tempfile
import threading
import time
from pathlib import Path

from episode.make import concluded
from episode.review.asking import Asked
from episode.review.desk import Desk
from episode.review.keys import chapter_key, claim_key, moment_key, promise_key
from episode.review.page import page
from tests.big_day import spotted, whole


def main() -> None:
    made, read = whole(), spotted()
    day = made.result if hasattr(made, "result") else made
    print(
        f"{sum(c.duration for c in day.clips) / 3600:.1f} h, {len(day.moments)} moments, {len(day.claims)} claims, "
        f"{len(day.chapters)} chapters, {sum(len(s.words) for s in day.transcript.segments)} words"
    )
    began = time.perf_counter()
    text = page(day)
    print(f"page for reading: {len(text.encode()) / 1e6:.2f} MB, made in {time.perf_counter() - began:.2f} s")
    with tempfile.TemporaryDirectory() as folder:
        worked: list[float] = []

        def work(decisions):
            start = time.perf_counter()
            result = concluded(read, decisions, ()).result
            worked.append(time.perf_counter() - start)
            return result

        desk = Desk(Path(folder), day, work, lambda result: result)
        began = time.perf_counter()
        live = desk.page()
        print(f"live page: {len(live.encode()) / 1e6:.2f} MB, given in {time.perf_counter() - began:.3f} s")
        moment, claim = next(m for m in day.moments if m.find), next(c for c in day.claims if c.moment)
        asks = [
            Asked(action="accept", key=moment_key(moment)),
            Asked(action="rename", key=moment_key(moment), value="pipe"),
            Asked(action="stance", key=moment_key(moment), value="unsure"),
            Asked(action="pair", key=moment_key(moment), value=""),
            Asked(action="reject", key=moment_key(moment)),
            Asked(action="reference", key=claim_key(claim), value="Oswald 1975"),
            Asked(action="strike", key=claim_key(claim), value="yes"),
            Asked(action="title", key=chapter_key(day.chapters[3]), value="Another title"),
        ]
        if day.promises:
            asks.append(Asked(action="kept", key=promise_key(day.promises[0]), value="yes"))
        for ask in asks:
            took = []
            for _ in range(5):
                version = desk.since(0)["version"]
                if ask.action == "title":  # a title is part of a chapter's handle
                    ask = ask.model_copy(update={"key": chapter_key(desk.day.chapters[3])})  # noqa: PLW2901
                began = time.perf_counter()
                desk.decide(ask)
                desk.since(version)
                took.append((time.perf_counter() - began) * 1000)
            print(
                f"  {ask.action:10} answered in {statistics.median(took):6.1f} ms (worst {max(took):.1f}), while the day is worked through behind"
            )
        while desk.since(0)["working"]:
            time.sleep(0.2)
        print(
            f"worked through behind: {min(worked):.1f} s at best, {max(worked):.1f} s at worst ({len(worked)} rounds)"
        )
        last = [m for m in desk.day.moments if m.find and m.id != moment.id][20]
        _in_a_browser(Path(folder), desk, moment_key(last))
        desk.close()


def _in_a_browser(folder: Path, desk: Desk, key: str) -> None:
    program = shutil.which("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        program = None
    if program is None:
        print("no browser here")
        return
    import uvicorn

    from episode.review.server import application
    from tests.review.browsing import FLAGS

    listener = socket.create_server(("127.0.0.1", 0))
    port = listener.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(application(folder, desk, "key", port), log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
    thread.start()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        views = []
        for _ in range(3):
            tab = browser.new_page(viewport={"width": 1440, "height": 900})
            began = time.perf_counter()
            tab.goto(f"http://127.0.0.1:{port}/?token=key", wait_until="commit")
            tab.locator("h1").wait_for()
            shown = time.perf_counter() - began
            paint = tab.evaluate(
                "new Promise(r => requestAnimationFrame(() => r(performance.getEntriesByName('first-contentful-paint')[0]?.startTime)))"
            )
            tab.wait_for_load_state()
            views.append((shown, paint or 0, time.perf_counter() - began))
            if len(views) < 3:
                tab.close()
        print(
            f"first view in Chromium: heading after {min(v[0] for v in views):.2f} s, first paint {min(v[1] for v in views) / 1000:.2f} s, "
            f"all loaded {min(v[2] for v in views):.2f} s"
        )
        tab.locator(f'[data-part="{key}"] .take').click()
        tab.locator("#hand .held").wait_for()
        took = tab.evaluate(
            """async (key) => {
              const began = performance.now();
              const done = new Promise((r) => addEventListener("parts", () => r(performance.now() - began), { once: true }));
              document.querySelector('#hand button[data-do="accept"]').click();
              return await done;
            }""",
            key,
        )
        print(f"from the press to the changed sheet: {took:.0f} ms")
        browser.close()
    server.should_exit = True
    thread.join(timeout=5)


if __name__ == "__main__":
    main()
