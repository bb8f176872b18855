"""The catalogue's names, strengths and minutes as plain data, read here without the package."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

CATALOGUE = Path(__file__).resolve().parents[2] / "src" / "bellhousing" / "diagnosis" / "catalogue"
LAWS = Path(__file__).resolve().parent / "laws.yaml"
FAMILIES = ("three-speed-vacuum", "four-speed-linkage")
OUT_OF_CAR = ("box-out", "stripped")
"""Set-ups that need the gearbox out: what is seen there comes after the decision."""


@dataclass(frozen=True)
class Look:
    """One finding as the generator knows it; `usual` and `half_width` in the finding's own unit."""

    id: str
    kind: str
    setup: str
    minutes: float
    states: tuple[str, ...]
    background: Mapping[str, float]
    strengths: Mapping[str, Mapping[str, float]]
    unit: str
    half_width: float
    usual: tuple[float, float] | None
    instrument: str
    separates: tuple[str, ...]
    repeats: str | None


@dataclass(frozen=True)
class Names:
    """Faults with their weight as a chance, looks before the box is out, and set-ups, of one family."""

    family: str
    weights: Mapping[str, float]
    looks: Mapping[str, Look]
    setups: Mapping[str, tuple[float, str | None]]

    def minutes(self, look: str, opened: set[str]) -> float:
        """Minutes of a look with the set-ups that it still needs."""
        total, setup = self.looks[look].minutes, self.looks[look].setup
        for name in self.chain(setup):
            if name not in opened:
                total += self.setups[name][0]
        return total

    def chain(self, setup: str) -> tuple[str, ...]:
        """A set-up and those it stands on."""
        found: list[str] = []
        name: str | None = setup
        while name is not None:
            found.append(name)
            name = self.setups[name][1]
        return tuple(found)


def _load(path: Path) -> Any:
    return YAML(typ="safe", pure=True).load(path.read_text(encoding="utf-8"))


@cache
def _catalogue() -> tuple[list[Any], list[Any], list[Any], Any]:
    faults = [row for path in sorted(CATALOGUE.glob("faults*.yaml")) for row in _load(path)]
    paths = sorted(CATALOGUE.glob("findings-*.yaml")) + sorted(CATALOGUE.glob("looks*.yaml"))
    return (
        faults,
        [row for path in paths for row in _load(path)],
        _load(CATALOGUE / "setups.yaml"),
        _load(LAWS),
    )


def read_names(family: str) -> Names:
    """The names of one family of boxes."""
    faults, rows, setups, laws = _catalogue()
    own = laws[family]
    weights = {row["id"]: float(row["weight"]) / 1000.0 for row in faults if family in _families(row)}
    looks = {
        row["id"]: _look(row, family, own.get(row["id"], {}), weights)
        for row in rows
        if family in _families(row) and row["setup"] not in OUT_OF_CAR
    }
    unknown = [(name, f) for name, law in own.items() for f in law if name not in looks or f not in weights]
    if unknown:
        raise ValueError(f"a law about something the catalogue does not have: {unknown}")
    return Names(family, weights, looks, {r["id"]: (float(r["minutes"]), r["under"]) for r in setups})


def _families(row: Any) -> tuple[str, ...]:
    return tuple(row.get("families") or FAMILIES)


def _look(row: Any, family: str, laws: Any, weights: Mapping[str, float]) -> Look:
    otherwise = (row.get("in_family") or {}).get(family, {})
    usual = otherwise.get("usual", row.get("usual"))
    strengths = {fault: dict(s) for fault, s in (row.get("strengths") or {}).items() if fault in weights}
    strengths.update({fault: dict(law) for fault, law in laws.items()})
    return Look(
        id=row["id"],
        kind=row["kind"],
        setup=row["setup"],
        minutes=float(row["minutes"]),
        states=tuple(row.get("states") or ()),
        background=row.get("background") or {},
        strengths=strengths,
        unit=str(row.get("unit", "")),
        half_width=number(row.get("half_width", 0.0)),
        usual=None if usual is None else (number(usual[0]), number(usual[1])),
        instrument=row.get("instrument", ""),
        separates=tuple(row.get("separates") or ()),
        repeats=row.get("repeats"),
    )


def number(text: Any) -> float:
    """The figure before a unit."""
    return float(str(text).split()[0])
