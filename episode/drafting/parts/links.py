"""Links: those that were promised on camera first, then the rest."""

from __future__ import annotations

import re

from episode.drafting.parts.writing import Writing
from episode.models import Link, Promise


def links(writing: Writing) -> list[str]:
    """A line for each link of the settings that may go out."""
    settings = writing.day.settings
    wanted = [p for p in writing.day.promises if p.kind in {"link", "sponsor", "event", "detail"}]
    promised = [link for link in settings.links if any(answers(link, p) for p in wanted)]
    others = [link for link in settings.links if link not in promised]
    chosen = promised + (others if writing.detail.other_links else [])
    fit = [link for link in chosen if gives_no_place_away(link, writing)]
    return [
        writing.rest(link_line(link, writing), promises=[p for p in wanted if answers(link, p)], settings="links")
        for link in fit
    ]


def link_line(link: Link, writing: Writing) -> str:
    """``Label: address``."""
    return f"{writing.text(link.label) or 'Link'}: {link.url.strip()}"


def answers(link: Link, promise: Promise) -> bool:
    """Whether a link is what a promise spoke of: one of its ``about`` words, or its label, stands in the words said."""
    if promise.by and link.url and link.url in promise.by:
        return True
    said = (promise.text or promise.quote).casefold()
    names = [name.casefold().strip() for name in (*link.about, link.label)]
    return any(name and re.search(rf"(?<!\w){re.escape(name)}(?!\w)", said) for name in names)


def gives_no_place_away(link: Link, writing: Writing) -> bool:
    """Whether the address may go out as it is: one line, and no place in it that the settings keep private."""
    url = link.url.strip()
    return bool(url) and writing.text(url) == url
