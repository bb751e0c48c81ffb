"""What counts as footage: containers that cameras, phones and recorders write, and what lies beside them."""

from __future__ import annotations


def _endings(words: str) -> frozenset[str]:
    return frozenset(words.split())


PROTOCOLS = ("file", "pipe")

DEMUXERS = (
    "mov",
    "mp4",
    "m4a",
    "3gp",
    "matroska",
    "webm",
    "avi",
    "mpegts",
    "mpeg",
    "mxf",
    "asf",
    "flv",
    "dv",
    "ogg",
    "wav",
    "w64",
    "aiff",
    "caf",
    "au",
    "flac",
    "mp3",
    "aac",
    "amr",
    "wv",
)
"""FFmpeg's names of the containers that are opened. Playlists, scripts and streaming formats (``hls``,
``concat``, ``dash``, ``sdp`` ...) can make a reader fetch other files and are not among them."""

CLIPS = _endings(
    """
    .mp4 .m4v .mov .qt .3gp .3g2 .mkv .webm .avi .divx .mts .m2ts .m2t .ts .mod .tod .mpg .mpeg .vob .mxf .wmv .asf
    .flv .dv .insv .360 .ogv .wav .w64 .bwf .aif .aiff .aifc .caf .au .flac .mp3 .aac .m4a .amr .ogg .oga .opus .wv
    .wma
    """
)
"""File name endings that promise a clip: one of these that cannot be read is an error the person is told of."""

TRANSCRIPTS = (".srt", ".vtt", ".txt")
"""In the order in which one is chosen where a clip has several."""

PLAYLISTS = _endings(
    """
    .m3u .m3u8 .mpd .ffconcat .concat .sdp .pls .xspf .asx .cue
    """
)

UNREADABLE = _endings(
    """
    .braw .r3d .crm .ari .nev .cine .dng
    """
)
"""Raw picture formats that need their maker's own software."""

BESIDE = _endings(
    """
    .thm .lrv .lrf .glv .xml .xmp .srm .sec .idx .sub .gpx .nmea .csv .json .ini .db .ctg .dat .bin .bdm .bdmv .cpi
    .mpl .bim .sav .aae .jpg .jpeg .png .gif .heic .heif .webp .tif .tiff .bmp .arw .cr2 .cr3 .nef .raf .rw2 .orf
    .pdf .doc .docx .odt .md .rtf .html .log .zip .part .tmp .sha256 .md5 .asc .otio .edl .fcpxml .drp .prproj .pkf
    .pek .cfa .sfk .reapeaks .lnk .url .ass .sbv .lrc
    """
)
"""Camera sidecars, photographs, notes and editors' files: passed over without a word."""

SYSTEM = frozenset({"$recycle.bin", "system volume information", "@eadir", "lost+found", "__macosx", "thumbs.db"})
