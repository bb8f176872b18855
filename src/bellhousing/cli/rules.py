"""The option by which a reading is judged: which decision rule, and how sure it has to be."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from bellhousing.fits.verdict import Rule

F = TypeVar("F", bound=Callable[..., Any])

SAYS = (
    "How a figure is judged: sure, proven either way (the default); simple, taken as read; guarded, with a "
    "guard band at each end."
)


def rule_options(function: F) -> F:
    """Adds --rule and --confidence."""
    function = click.option("--confidence", help="How sure the rule `sure` has to be, for example '99 %'.")(
        function
    )
    return click.option("--rule", "rule_name", type=click.Choice(["sure", "simple", "guarded"]), help=SAYS)(
        function
    )


def rule_of(name: str | None, confidence: str | None) -> Rule | None:
    """The rule asked for, None where none was.

    Raises
    ------
    QuantityError : a confidence that is none.
    """
    if name is None and confidence is None:
        return None
    from bellhousing.tasks.rules import rule_called

    return rule_called(name, confidence)
