from __future__ import annotations

import contextlib
import html
import io
import subprocess
from pathlib import Path

import pysubs2
import pytest
import webvtt
from hypothesis import given, settings
from hypothesis import strategies as st

from episode.errors import UnusableInput
from episode.models import Segment, Transcript, Word
from episode.speech.subtitles import LARGEST_BYTES, read_subtitles, read_transcript, write_vtt


@pytest.fixture
def file(tmp_path):
    def make(content: str | bytes, name: str = "a.srt") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return make


def texts(path: Path, duration: float | None = None) -> list[tuple[float, float, str]]:
    return [(s.start, s.end, s.text) for s in read_transcript(path, "a.mp4", duration)]


SRT = """1
00:00:01,000 --> 00:00:03,000
<i>Look at that</i>, a {\\an8}pipe bowl

2
00:00:04,500 --> 00:00:06,000
with a
maker's mark
"""


# ------------------------------------------------------------------ SubRip and WebVTT


def test_subrip_is_read_with_words_spread_by_length(file):
    found = read_transcript(file(SRT), "a.mp4", 60.0)
    assert [s.text for s in found] == ["Look at that, a pipe bowl", "with a maker's mark"]
    words = found[0].words
    assert [w.word for w in words] == ["Look", "at", "that,", "a", "pipe", "bowl"]
    # 5 + 3 + 6 + 2 + 5 + 5 = 26 parts of 2 s (each word's letters and one more)
    assert [w.start for w in words] == [1.0, 1.38, 1.62, 2.08, 2.23, 2.62]
    assert words[-1].end == 3.0
    assert {w.probability for w in words} == {1.0}


@pytest.mark.parametrize(
    "raw",
    [
        SRT.encode("utf-8-sig"),
        SRT.encode("utf-16"),
        SRT.replace("\n", "\r\n").encode(),
        SRT.replace("\n", "\r").encode(),
        SRT.replace("\n\n2\n", "\n2\n").encode(),
        SRT.replace("\n\n2\n", "\n \n\n\n2\n").encode(),
        SRT.replace("1\n00", "00").replace("2\n00", "00").encode(),
        SRT.rstrip().encode(),
    ],
    ids=["utf-8 mark", "utf-16", "crlf", "cr", "no empty line", "many empty lines", "no numbers", "no last line end"],
)
def test_subrip_as_people_have_it(file, raw):
    assert texts(file(raw)) == texts(file(SRT, "b.srt"))


def test_windows_encoding_is_read_and_said(file):
    found, problems = read_subtitles(file("1\n00:00:01,000 --> 00:00:02,000\n£5 née “x”\n".encode("cp1252")), "a", None)
    assert found[0].text == "£5 née “x”"
    assert "Windows-1252" in problems[0].what


def test_a_caption_that_is_a_year_is_not_taken_for_a_number(file):
    path = file("1\n00:00:01,000 --> 00:00:02,000\nmade in\n1862\n\n2\n00:00:03,000 --> 00:00:04,000\n1871\n")
    assert [t for _, _, t in texts(path)] == ["made in 1862", "1871"]


def test_an_empty_line_inside_a_subrip_caption_loses_nothing(file):
    path = file("1\n00:00:01,000 --> 00:00:02,000\nfirst\n\nsecond\n\n2\n00:00:03,000 --> 00:00:04,000\nthird\n")
    assert [t for _, _, t in texts(path)] == ["first second", "third"]


def test_webvtt_after_the_standard(file):
    """Header text, STYLE and NOTE blocks, identifiers, settings, voices, classes and character references.

    Source: W3C, WebVTT: The Web Video Text Tracks Format, sections 3 and 4 (from memory).
    """
    path = file(
        "WEBVTT - a day\nKind: captions\n\nSTYLE\n::cue { color: red }\n\nNOTE 00:00\nnothing\n\nintro\n"
        "00:01.000 --> 00:02.500 align:start position:10%\n<v Wren>Salt &amp; pepper &lt;here&gt;</v>\n\n"
        "01:00:00.000 --> 01:00:01.000\n<c.loud>Bottle</c> <b>top</b>&nbsp;now\n",
        "a.vtt",
    )
    assert texts(path) == [(1.0, 2.5, "Salt & pepper <here>"), (3600.0, 3601.0, "Bottle top now")]


def test_reads_what_two_libraries_read(file):
    """pysubs2 and webvtt-py as independent readers of the same text."""
    ours = texts(file(SRT.replace("<i>", "").replace("</i>", "").replace("{\\an8}", "")))
    subs = pysubs2.SSAFile.from_string(SRT)
    assert ours == [(e.start / 1000, e.end / 1000, " ".join(e.plaintext.split())) for e in subs]
    vtt = "WEBVTT\n\n" + SRT.replace(",0", ".0").replace(",5", ".5").replace("{\\an8}", "")
    captions = webvtt.from_string(vtt)
    assert texts(file(vtt, "a.vtt")) == [
        (c.start_in_seconds, c.end_in_seconds, " ".join(c.text.split()))
        if isinstance(c.start_in_seconds, float)
        else (_library_seconds(c.start), _library_seconds(c.end), " ".join(c.text.split()))
        for c in captions
    ]


def _library_seconds(text: str) -> float:
    hours, minutes, seconds = text.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(seconds)


def test_captions_out_of_order_are_sorted_and_overlaps_end_where_the_next_begins(file):
    path = file(
        "3\n00:00:09,000 --> 00:00:10,000\nlast\n\n1\n00:00:01,000 --> 00:00:05,000\nfirst words\n\n"
        "2\n00:00:03,000 --> 00:00:06,000\nsecond\n\n4\n00:00:09,000 --> 00:00:11,000\ntogether\n"
    )
    assert texts(path) == [(1.0, 3.0, "first words"), (3.0, 6.0, "second"), (9.0, 11.0, "last together")]


def test_sound_notes_alone_are_no_words(file):
    path = file("1\n00:00:01,000 --> 00:00:02,000\n[Music]\n\n2\n00:00:03,000 --> 00:00:04,000\na (clay) pipe\n")
    assert texts(path) == [(3.0, 4.0, "a (clay) pipe")]


# ------------------------------------------------------------------ automatic captions

ROLLING = """WEBVTT
Kind: captions
Language: en

00:00:01.000 --> 00:00:03.000 align:start position:0%
{blank}
here<00:00:01.400><c> is</c><00:00:01.600><c> a</c><00:00:01.800><c> pipe</c>

00:00:03.000 --> 00:00:03.010 align:start position:0%
here is a pipe
{blank}

00:00:03.010 --> 00:00:05.000 align:start position:0%
here is a pipe
stem<00:00:03.500><c> stem</c><00:00:04.000><c> and</c>

00:00:05.000 --> 00:00:05.010 align:start position:0%
stem stem and
{blank}

00:00:05.010 --> 00:00:07.000 align:start position:0%
stem stem and
a<00:00:05.500><c> bowl</c>
""".replace("{blank}", " ")


def test_rolling_captions_are_said_once_with_their_own_word_times(file):
    found = read_transcript(file(ROLLING, "a.vtt"), "a.mp4", 60.0)
    words = [w for s in found for w in s.words]
    assert [w.word for w in words] == ["here", "is", "a", "pipe", "stem", "stem", "and", "a", "bowl"]
    assert [w.start for w in words] == [1.0, 1.4, 1.6, 1.8, 3.01, 3.5, 4.0, 5.01, 5.5]
    assert all(w.start <= w.end for w in words)
    assert {w.probability for w in words} == {0.5}


def test_rolling_captions_without_inner_times(file):
    lines = ["one two three", "four five six", "seven eight", "nine ten"]
    cues = [f"{i + 1}\n00:00:0{i},000 --> 00:00:0{i + 1},000\n" for i in range(4)]
    path = file("\n".join(c + "\n".join(lines[max(0, i - 1) : i + 1]) + "\n" for i, c in enumerate(cues)))
    assert [t for _, _, t in texts(path)] == lines


def test_captions_that_grow_word_by_word(file):
    said = "well this is a thimble"
    steps = [" ".join(said.split()[: i + 1]) for i in range(5)]
    roll = ["x y", "x y\nz w", "z w\nu v"]  # so that the file counts as rolling
    cues = [f"{i}\n00:00:{i:02},000 --> 00:00:{i + 1:02},000\n{t}\n" for i, t in enumerate(roll + steps)]
    assert " ".join(t for _, _, t in texts(file("\n".join(cues)))) == "x y z w u v " + said


def test_honest_repeats_in_ordinary_captions_stay(file):
    cues = [(0, "no"), (2, "no"), (4, "a pipe"), (6, "a bowl"), (8, "a stem"), (10, "another one")]
    path = file("\n".join(f"{i}\n00:00:{i:02},000 --> 00:00:{i + 1:02},900\n{t}\n" for i, t in cues))
    assert [t for _, _, t in texts(path)] == [t for _, t in cues]


# ------------------------------------------------------------------ stamped paragraphs


def test_paragraphs_with_stamps(file):
    path = file("\n[0:05] First find\nof the day.\n\n[1:02:03]  A button.\n[59:10] Before it.\n", "a.txt")
    found = texts(path, 4000.0)
    assert [(s, t) for s, _, t in found] == [
        (5.0, "First find of the day."),
        (3550.0, "Before it."),
        (3723.0, "A button."),
    ]
    assert all(e - s < 6 for s, e, _ in found), "words are not drawn out over a long pause"


def test_a_paragraph_ends_where_the_next_begins(file):
    (first, _) = texts(file("[0:01] one two three four five six\n[0:02] seven", "a.txt"), 10.0)
    assert first[:2] == (1.0, 2.0)


def test_brackets_that_are_no_time_are_words(file):
    assert texts(file("[0:01] a\n[laughs] b", "a.txt"))[0][2] == "a [laughs] b"


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("content", "name", "line", "what"),
    [
        ("1\n00:00:01,000 --> 00:00:99,000\nx\n", "a.srt", 2, "cannot be read as the times"),
        ("1\n-00:00:01,000 --> 00:00:02,000\nx\n", "a.srt", 2, "cannot be read as the times"),
        ("1\n00:00:01,000 -->\nx\n", "a.srt", 2, "cannot be read as the times"),
        ("1\n00:00:05,000 --> 00:00:02,000\nx\n", "a.srt", 2, "ends before it begins"),
        ("1\n00:00:05,000 --> 9999:00:02,000\nx\n", "a.srt", 2, "no clip is that long"),
        ("WEBVTT\n\n\n00:61:00.000 --> 00:62:00.000\nx\n", "a.vtt", 4, "cannot be read as the times"),
        ("hello\n[0:01] x", "a.txt", 1, "before the first time stamp"),
        ("[0:01] x\n[0:75] y", "a.txt", 2, "not a time in a clip"),
        ("[0:01] x\n[-0:05] y", "a.txt", 2, "not a time in a clip"),
        ("[0:01] x\n[9999:59:59] y", "a.txt", 2, "not a time in a clip"),
    ],
)
def test_bad_times_are_refused_with_their_line(file, content, name, line, what):
    with pytest.raises(UnusableInput, match=what) as caught:
        read_transcript(file(content, name), "a.mp4", 60.0)
    assert caught.value.where == f"{name}, line {line}"
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("content", "name", "what"),
    [
        (b"", "a.srt", "is empty"),
        (b" \r\n\n", "a.txt", "is empty"),
        (b"just words", "a.srt", "holds no captions"),
        (b"\0\1\2\3", "a.srt", "not a text file"),
    ],
)
def test_files_that_are_no_transcripts(file, content, name, what):
    with pytest.raises(UnusableInput, match=what):
        read_transcript(file(content, name), "a.mp4", 60.0)


def test_missing_and_huge_files(file, tmp_path):
    with pytest.raises(UnusableInput, match="cannot be read"):
        read_transcript(tmp_path / "none.srt", "a.mp4", None)
    huge = tmp_path / "huge.srt"
    with huge.open("wb") as handle:
        handle.truncate(LARGEST_BYTES + 1)
    with pytest.raises(UnusableInput, match="too large"):
        read_transcript(huge, "a.mp4", None)


def test_captions_beyond_the_clip_are_reported(file):
    path = file(SRT + "\n3\n00:05:00,000 --> 00:05:02,000\nanother film\n")
    found, problems = read_subtitles(path, "a.mp4", 5.0)
    assert [s.end for s in found] == [3.0, 5.0]
    (problem,) = problems
    assert problem.where == "a.srt, line 11"
    assert "1 captions begin after the end of a.mp4" in problem.what


def test_a_track_without_words_is_no_error(file):
    found, problems = read_subtitles(file("WEBVTT\n", "a.vtt"), "a.mp4", 5.0)
    assert found == ()
    assert problems[0].level == "note"


hostile = st.text(
    alphabet=st.one_of(st.sampled_from("0123456789:,.-> \n\r<>&[]{}\\/cv\t\0\ufeff"), st.characters(codec="utf-8")),
    max_size=300,
)


@settings(max_examples=150, deadline=None)
@given(
    content=hostile, name=st.sampled_from(["a.srt", "a.vtt", "a.txt"]), head=st.sampled_from(["", "WEBVTT\n\n", SRT])
)
def test_whatever_stands_in_a_file_it_is_read_or_refused(tmp_path_factory, content, name, head):
    path = tmp_path_factory.mktemp("x") / name
    path.write_bytes((head + content).encode("utf-8", "surrogatepass"))
    try:
        found = read_transcript(path, "a.mp4", 30.0)
    except UnusableInput as error:
        assert error.where.startswith(name)
        return
    _sound(found, 30.0)


@settings(max_examples=80, deadline=None)
@given(content=st.binary(max_size=400))
def test_bytes_of_any_kind(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("x") / "a.srt"
    path.write_bytes(content)
    with contextlib.suppress(UnusableInput):
        _sound(read_transcript(path, "a.mp4", None), None)


def _sound(segments: tuple[Segment, ...], duration: float | None) -> None:
    last = 0.0
    for segment in segments:
        assert segment.words
        assert segment.text == " ".join(w.word for w in segment.words)
        for word in segment.words:
            assert last <= word.start <= word.end
            assert word.word.split() == [word.word]
            assert duration is None or word.end <= duration
            last = word.start


# ------------------------------------------------------------------ writing


def transcript(*segments: tuple[str, float, str]) -> Transcript:
    made = []
    for clip, start, text in segments:
        words = tuple(
            Word(start=start + 0.4 * i, end=start + 0.4 * i + 0.3, word=w, probability=1)
            for i, w in enumerate(text.split())
        )
        made.append(Segment(clip=clip, start=words[0].start, end=words[-1].end, text=text, words=words))
    return Transcript(segments=tuple(made))


def test_clips_stand_on_the_programmes_timeline():
    text = write_vtt(transcript(("a.mp4", 1.0, "A stem."), ("b.mp4", 0.5, "A bowl.")), {"a.mp4": 0.0, "b.mp4": 3599.5})
    assert text == (
        "WEBVTT\n\n1\n00:00:01.000 --> 00:00:01.700\nA stem.\n\n2\n01:00:00.000 --> 01:00:00.700\nA bowl.\n"
    )


def test_several_clips_need_their_starts():
    two = transcript(("a.mp4", 1.0, "A stem."), ("b.mp4", 0.5, "A bowl."))
    with pytest.raises(ValueError, match="starts"):
        write_vtt(two)
    with pytest.raises(ValueError, match=r"b\.mp4"):
        write_vtt(two, {"a.mp4": 0.0})
    assert write_vtt(Transcript()) == "WEBVTT\n"


words = st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Z", "C"]), min_size=1, max_size=60)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.one_of(words, st.sampled_from(["-->", "<b>", "&amp;", "&", "NOTE", "WEBVTT"])), min_size=1, max_size=40)
)
def test_any_words_come_back_through_an_independent_reader(said):
    captions = webvtt.from_buffer(io.StringIO(write_vtt(transcript(("a", 0.0, " ".join(said))))))
    lines = [html.unescape(line) for caption in captions for line in caption.raw_text.split("\n")]
    assert all(len(line) <= 42 for line in lines)
    assert all(len(caption.raw_text.split("\n")) <= 2 for caption in captions)
    assert "".join("".join(lines).split()) == "".join("".join(said).split())


@settings(max_examples=40, deadline=None)
@given(said=st.lists(words.filter(lambda w: not w.startswith(("[", "(", "♪"))), min_size=1, max_size=40))
def test_what_is_written_is_read_again(tmp_path_factory, said):
    path = tmp_path_factory.mktemp("x") / "a.vtt"
    path.write_text(write_vtt(transcript(("a", 0.0, " ".join(said)))), encoding="utf-8", newline="\n")
    again = read_transcript(path, "a", None)
    assert "".join(w.word for s in again for w in s.words) == "".join(said)


def test_ffmpeg_takes_it(tmp_path):
    from episode.footage.tools import ffmpeg

    path = tmp_path / "a.vtt"
    path.write_text(
        write_vtt(transcript(("a", 0.0, "Salt & <pepper> --> here it is, the first of today's finds " * 4)))
    )
    done = subprocess.run(
        [str(ffmpeg().path), "-v", "error", "-i", str(path), "-f", "srt", "-"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""
    assert "today's finds" in done.stdout
    assert done.stdout.count("-->") >= 4
