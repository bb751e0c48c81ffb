"""The contact sheet, the period chart and the choice of a frame."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET

import numpy as np
from PIL import Image, ImageFilter

from episode.drafting.finds import finds
from episode.drafting.pictures.contact_sheet import MOST, contact_sheet
from episode.drafting.pictures.period_chart import period_chart
from episode.drafting.pictures.walk_sketch import walk_sketch
from episode.footage.steady import choose
from episode.models import Walk
from tests.drafting.invented import SETTINGS, day

SVG = "{http://www.w3.org/2000/svg}"


def still(colour):
    out = io.BytesIO()
    Image.new("RGB", (640, 360), colour).save(out, "JPEG", exif=b"Exif\0\0secret")
    return out.getvalue()


def test_the_sheet_shows_each_find_once_and_carries_nothing_but_pixels():
    made = day()
    shown = finds(made)
    stills = {m.id: still((200, 30, 30)) for find in shown for m in find.moments}
    data = contact_sheet(made, stills)
    with Image.open(io.BytesIO(data)) as sheet:
        assert sheet.format == "PNG" and not sheet.info.get("exif") and not sheet.getexif()
        red = (np.asarray(sheet).astype(int) - (200, 30, 30)).__abs__().max(axis=2) < 12
    pictures = int(red.sum()) / (440 * 248)
    assert abs(pictures - len(shown)) < 0.05 * len(shown) + 0.3


def test_a_broken_still_and_a_missing_one_leave_an_empty_frame():
    made = day()
    data = contact_sheet(made, {made.moments[0].id: b"\xff\xd8no picture", "m999": b""})
    with Image.open(io.BytesIO(data)) as sheet:
        assert sheet.width > 1000


def test_the_sheet_is_the_same_twice_and_bounded():
    made = day()
    many = made.model_copy(
        update={"matched": made.matched.model_copy(update={"moments": tuple(
            m.model_copy(update={"id": f"m{n}-{m.id}", "find": None}) for n in range(40) for m in made.moments
        )})}
    )  # fmt: skip
    assert contact_sheet(made, {}) == contact_sheet(made, {})
    with Image.open(io.BytesIO(contact_sheet(many, {}))) as sheet:
        assert sheet.height < 400 * (MOST // 4 + 2)


def test_no_finds_no_sheet():
    empty = day(matched=day().matched.model_copy(update={"moments": ()}))
    assert contact_sheet(empty, {}) is None and period_chart(empty) is None


def bars(text):
    return {rect.find(f"{SVG}title").text: rect.get("class") for rect in ET.fromstring(text).iter(f"{SVG}rect")}


def test_checked_dates_are_full_and_said_ones_open():
    from episode.models import Verdict

    made = day()
    drawn = bars(period_chart(made))
    assert "bar" in drawn.values() and "open" in drawn.values()
    supported = {c.moment for c in made.claims if c.verdict is Verdict.SUPPORTED or c.reference}
    for find in finds(made):
        kinds = {kind for says, kind in drawn.items() if says.partition(", ")[0] == find.name}
        if kinds == {"bar"}:
            assert supported & {m.id for m in find.moments}


def test_nothing_unchecked_is_drawn_where_a_person_leaves_it_out():
    drawn = bars(period_chart(day(settings=SETTINGS.model_copy(update={"unverified": "leave out"}))))
    assert set(drawn.values()) == {"bar"}


def test_older_is_further_left_and_the_years_are_in_order():
    tree = ET.fromstring(period_chart(day()))
    ticks = [(float(t.get("x")), t.text) for t in tree.iter(f"{SVG}text") if t.get("text-anchor") == "middle"]
    years = [int(t.replace("AD ", "")) for _, t in ticks]
    assert years == sorted(years) and len(years) >= 3
    assert [x for x, _ in ticks] == sorted(x for x, _ in ticks)


def test_hostile_names_are_text():
    wicked = '<script>alert(1)</script>"&'
    made = day(settings=SETTINGS.model_copy(update={"title": wicked}))
    tree = ET.fromstring(period_chart(made))
    assert not list(tree.iter(f"{SVG}script"))
    assert any("alert(1)" in (t.text or "") for t in tree.iter(f"{SVG}text"))


def test_the_sharpest_and_stillest_frame_is_chosen():
    # Variance of the Laplacian falls with blur; a moving frame differs from both its neighbours.
    rng = np.random.default_rng(5)
    scene = Image.fromarray(rng.integers(0, 255, (108, 192), np.uint8))
    blurred = [np.asarray(scene.filter(ImageFilter.GaussianBlur(r))) for r in (6, 5, 4)]
    sharp = np.asarray(scene.filter(ImageFilter.GaussianBlur(1)))
    moving = [np.roll(sharp, 30 * k, axis=1) for k in (1, 2, 3)]
    frames = np.stack([*blurred, *moving, sharp, sharp, blurred[0]])
    assert choose(frames) in {6, 7}


def test_of_frames_all_alike_the_first_is_chosen():
    assert choose(np.full((5, 108, 192), 90, np.uint8)) == 0


WALK = Walk(system="national grid", lines=(((551000.0, 113000.0), (552000.0, 113000.0), (552000.0, 114000.0)),))


def walked(**changes):
    made = day(settings=SETTINGS.model_copy(update={"grid_figures": 4}), walk=WALK)
    first = next(m for m in made.moments if m.find)
    moments = tuple(m.model_copy(update={"place": "TQ 52 13"}) if m.id == first.id else m for m in made.moments)
    return made.model_copy(update={"matched": made.matched.model_copy(update={"moments": moments}), **changes})


def test_the_walk_goes_from_square_to_square():
    # Ordnance Survey, "Using the National Grid": easting 651409, northing 313177 is TG 51 13; 551, 113 lies in TQ.
    tree = ET.fromstring(walk_sketch(walked()))
    assert len([r for r in tree.iter(f"{SVG}rect") if r.get("class") == "tile"]) == 3
    words = [t.text for t in tree.iter(f"{SVG}text")]
    assert {"TQ 51 13", "TQ 52 13", "TQ 52 14", "1 find"} <= set(words)
    way = next(p.get("d") for p in tree.iter(f"{SVG}path") if p.get("class") == "way")
    assert way.count("L") == 2


def test_no_walk_is_drawn_where_places_are_withheld_or_none_is_known():
    made = walked()
    assert walk_sketch(made.model_copy(update={"walk": None})) is None
    withheld = made.settings.model_copy(update={"grid_figures": 0})
    assert walk_sketch(made.model_copy(update={"settings": withheld})) is None


def test_abroad_the_squares_are_of_degrees():
    made = walked(walk=Walk(system="latitude and longitude", lines=(((51.54, -10.02), (51.56, -10.02)),)))
    tree = ET.fromstring(walk_sketch(made))
    assert len([r for r in tree.iter(f"{SVG}rect") if r.get("class") == "tile"]) == 2
