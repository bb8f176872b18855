"""`bellhousing measure`."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bellhousing.cli.doors import NUMBER, json_option, shop_at, shop_option, tell, tell_all
from bellhousing.cli.lines import WIDTH
from bellhousing.cli.rules import rule_of, rule_options

if TYPE_CHECKING:
    from bellhousing.tasks.fits_shapes import MeasuredAnswer

NOTHING = "Nothing measured yet: write for example front end play 0.021 in."


@click.command("measure")
@click.argument("job", type=NUMBER)
@click.argument("words", nargs=-1, metavar="[TEXT...]")
@click.option("--budget", is_flag=True, help="Show what the uncertainty is made of, and the rule.")
@rule_options
@shop_option
@json_option
def command(
    job: int,
    words: tuple[str, ...],
    budget: bool,
    rule_name: str | None,
    confidence: str | None,
    shop_folder: Path | None,
    as_json: bool,
) -> None:
    """Write down on JOB what was measured at the bench; without TEXT, list what was measured.

    Name it, then the readings: “front end play 0.021 in”, “forward pack clearance 0.041 0.043 0.040 in”,
    “pump face clearance 1.8 thou with depth micrometer”.  Readings around a ring are given one after the
    other: a spread is a finding of its own.  An entry is put right or taken back with bellhousing note.
    """
    from bellhousing.tasks import measuring

    shop, rule = shop_at(shop_folder), rule_of(rule_name, confidence)
    text = " ".join(words)
    if not text.strip():
        found = measuring.measured_on_job(shop, job, rule=rule)
        tell_all(list(found), as_json, lambda: "\n".join(_shown(entry, budget) for entry in found) or NOTHING)
        return
    answer = measuring.measure_on_job(shop, job, text, rule=rule)
    tell(answer, as_json, lambda: _shown(answer, budget))


def _shown(entry: MeasuredAnswer, budget: bool) -> str:
    lines = [entry.text if entry.counts else f"{entry.text} Measured again later."]
    if entry.ring:
        lines.append(f"  It {entry.ring}.")
    if entry.too_coarse:
        lines.append(f"  {entry.too_coarse[:1].upper()}{entry.too_coarse[1:]}.")
    if entry.would_tell:
        lines.append(f"  To tell: {entry.would_tell}.")
    if budget:
        lines.append(f"  Read with the {entry.instrument}; rule: {entry.rule}.")
        if entry.risks:
            lines.append(f"  By this rule: {entry.risks}.")
        lines += [
            f"  {line.uncertainty:>12.3g} {entry.unit}  {line.name} ({line.kind}, {line.shape}, "
            f"{100 * line.share:.0f} in 100)"
            for line in entry.budget
        ]
        whole = f"{entry.uncertainty:>12.3g} {entry.unit}"
        lines.append(f"  {whole}  altogether; ± {entry.expanded:.3g} holds 95 in 100")
    return "\n".join(textwrap.fill(line, WIDTH, subsequent_indent="    ") for line in lines)
