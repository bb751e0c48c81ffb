"""Names that the synthesiser would misread."""

from __future__ import annotations

PRONOUNCED = {
    "Thessel": "θˈɛsᵊl",
    "Thesselmouth": "θˈɛsᵊlməθ",
    "Skelby": "skˈɛlbi",
    "aglet": "ˈæɡlət",
    "Westerwald": "vˈɛstəɹvˌɑlt",
    "Bellarmine": "bˈɛləɹmˌin",
    "Frechen": "fɹˈɛʃən",
    "Hiram": "hˈIɹəm",
    "Victoria": "vɪktˈɔɹiə",
}
"""How a person says what the synthesiser would misread, in its own phone letters."""
