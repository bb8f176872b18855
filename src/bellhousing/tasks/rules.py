"""The decision rule by the name people choose it by."""

from __future__ import annotations

from difflib import get_close_matches

from bellhousing.errors import QuantityError
from bellhousing.fits.verdict import RULES, Rule
from bellhousing.tasks.figures import Figures


def rule_called(name: str | None, confidence: str | None = None) -> Rule:
    """The rule of a name, `sure` unless one is given; `confidence` such as "99 %" goes with `sure`.

    Raises
    ------
    QuantityError : no such rule, or a confidence that is none
    """
    known = {str(rule): rule for rule in RULES}
    said = (name or "sure").strip().lower()
    if said not in known:
        near = get_close_matches(said, known, n=1, cutoff=0.4) or list(known)
        raise QuantityError(f"no rule is called '{said[:40]}'", remedy=f"say one of: {', '.join(near)}")
    if confidence is None:
        return Rule(known[said])
    if said != "sure":
        raise QuantityError(f"the rule {said} has no confidence", remedy="leave it out, or take sure")
    return Rule("sure", Figures().share(confidence, "confidence", 50.1, 99.99))
