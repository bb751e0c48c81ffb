"""``correct``: which statement is meant, and the decision that puts it right."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from episode.day.deciding import add_decision
from episode.errors import UnusableInput
from episode.models import Claim, Decision
from episode.results import ClaimsDocument

ALIKE = 90.0
"""How like its words (0 to 100: a stretch of them, or all of the given ones somewhere) a statement must be."""


def correcting(folder: Path, said: str, text: str, reference: str = "", *, out: Path | None = None) -> Claim:
    """Find the claim that ``said`` means in the day's results and add the decision that corrects it.

    Raises:
        UnusableInput: no results yet, nothing like it was said, or more than one statement is like it.
        CannotWrite: the decision could not be added.
    """
    claim = _meant(said, _claims(out or folder / "out"))
    add_decision(
        folder,
        Decision(
            action="correct",
            clip=claim.clip,
            start=claim.start,
            quote=claim.quote,
            value=text.strip(),
            reference=reference.strip() or None,
        ),
    )
    return claim


def _claims(out: Path) -> tuple[Claim, ...]:
    path = out / "claims.json"
    try:
        return ClaimsDocument.model_validate_json(path.read_bytes()).claims
    except (OSError, ValidationError) as error:
        raise UnusableInput(
            "there are no claims to correct yet", where=str(path), remedy="Run `episode make` on the day first."
        ) from error


def _meant(said: str, claims: tuple[Claim, ...]) -> Claim:
    by_id = [claim for claim in claims if claim.id == said.strip()]
    if by_id:
        return by_id[0]
    alike = [claim for claim in claims if _likeness(said, claim.quote) >= ALIKE]
    quotes = list(dict.fromkeys((claim.clip, claim.quote) for claim in alike))
    if len(quotes) == 1:
        return alike[0]
    if not quotes:
        raise UnusableInput(
            "nothing like that was claimed", where=repr(said), remedy="Take words or an id from out/claims.csv."
        )
    listed = "; ".join(f"{claim.id}: {claim.quote[:60]}" for claim in alike[:5])
    raise UnusableInput(f"that fits {len(quotes)} statements: {listed}", where=repr(said), remedy="Give the id.")


def _likeness(said: str, quote: str) -> float:
    from rapidfuzz import fuzz, utils

    plain = utils.default_process
    return max(fuzz.partial_ratio(said, quote, processor=plain), fuzz.token_set_ratio(said, quote, processor=plain))
