"""What a log tells, as plain text."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bellhousing.tasks.road_shapes import RoadLogAnswer, ShiftAnswer


def road_log(answer: RoadLogAnswer) -> str:
    """Columns as read, every shift, slip, findings and warnings."""
    lines = ["Columns, as read (put right with --column):"]
    lines += [
        f"  {column.meaning:<18} '{column.name}' in {column.unit or 'words'} ({column.how})"
        for column in answer.columns
    ]
    lines += ["", f"{len(answer.shifts)} shifts in {answer.driven_s:.0f} s:"]
    lines += [_shift(shift) for shift in answer.shifts]
    lines += [f"Slip in gear {slip.gear}: {slip.percent:.1f} %" for slip in answer.slip]
    if answer.converter_slip_percent is not None:
        lines.append(f"Converter slip cruising in top: {answer.converter_slip_percent:.1f} %")
    if answer.findings:
        lines += ["", "What this tells:"] + [f"  {found.said}" for found in answer.findings]
    if answer.warnings:
        lines += ["", "To know:"] + [f"  {text}" for text in answer.warnings]
    return "\n".join(lines)


def _shift(shift: ShiftAnswer) -> str:
    throttle = "" if shift.throttle is None else f"  at {shift.throttle.value:g} {shift.throttle.unit}"
    flare = f"  flare {shift.flare_rpm:.0f} rpm" if shift.flare_rpm else ""
    return (
        f"  {shift.t_s:9.1f} s  {shift.from_}-{shift.to}  {shift.road_speed_mph:5.1f} mph{throttle}"
        f"  {shift.duration_s:.2f} s{flare}"
    )
