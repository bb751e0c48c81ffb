from __future__ import annotations

from episode.footage.complaints import complaints

SAID = b"""[aist#0:0/aac @ 0x55c8f6ec4580] [dec:aac @ 0x55c8f6ee0a00] Decoding error
[png @ 0x55d4] Picture size 16000x16000 exceeds specified max pixel count 35651584, see the documentation
    Last message repeated 1 times
[out#0] Nothing\x1b[31m was written
"""


def test_they_are_the_same_on_every_run_and_can_be_shown():
    assert complaints(SAID, last=2) == "[aist#0:0/aac] [dec:aac] Decoding error / [out#0] Nothing[31m was written"


def test_only_the_last_is_told_and_it_is_no_essay():
    assert complaints(b"one\n" + b"x" * 999) == "x" * 200


def test_of_pictures_nobody_asked_for_nothing_is_told():
    assert complaints(b"[mjpeg @ 0x1] Picture size 1x1 exceeds specified max pixel count 1\n") == ""
