"""Assemblies, selective parts and measurements of box files and fits files."""

from __future__ import annotations

import pytest

from bellhousing.boxes.assemblies import stack_from
from bellhousing.boxes.fits_file import fits_from_bytes
from bellhousing.boxes.load import box_from_bytes, load_box
from bellhousing.errors import BoxFileError, QuantityError
from bellhousing.fits.selective import solve_fits
from bellhousing.fits.stack import stack_up

THOU = 25.4e-6
HEAD = "schema: 1\nname: Mine\nslug: mine\nfamily: three-speed-vacuum\n"
FITS = """\
stacks:
  front-end-play:
    name: Front end play
    window: 0.006–0.018 in
    members:
      - {name: case, acts: opens, size: 100.00 mm ± 0.05 mm}
      - {name: shaft, acts: closes, measured: 97.80 mm ± 0.02 mm}
      - {part: washer, acts: closes}
stock:
  washer:
    name: thrust washer
    tolerance: 0.0005 in
    sizes:
      - {size: 0.075 in, stock: 1}
      - {size: 1.98 mm, stock: 1}
"""


@pytest.mark.parametrize("name", ["box-a", "box-b"])
def test_shipped_assemblies_go_together(name: str) -> None:
    """Each has a window, known sizes and parts, and can be filled from the sizes its parts are made in."""
    box = load_box(name)
    assert {"front-end-play", "rear-end-play"} <= {entry.id for entry in box.assemblies}
    packs = [entry for entry in box.assemblies if entry.id.endswith("pack-clearance")]
    assert len(packs) >= 2
    solution = solve_fits([stack_from(entry) for entry in box.assemblies], box.selective_parts)
    assert solution.open == ()
    assert solution.proven
    for fit in solution.fits:
        assert fit.judgement.probability > 0.9
    for entry in box.assemblies:
        assert entry.members is not None
        assert stack_up(entry.members).worst > 0.0
        assert entry.measure in box.measurements


def test_every_shipped_window_is_of_its_kind() -> None:
    """All thirty-six of the bench and more, a window or a look each; a box's own lie within its family's."""
    for family, own in (("three-speed-vacuum", "box-a"), ("four-speed-linkage", "box-b")):
        typical, box = load_box(family).measurements, load_box(own).measurements
        assert set(typical) == set(box)
        assert len(typical) >= 35
        for slug, entry in typical.items():
            assert (entry.window is None) == bool(entry.measure.look), slug
            mine = box[slug].window
            if entry.window is not None and mine is not None:
                assert entry.window.low <= mine.low, slug
                assert mine.high <= entry.window.high, slug
                low, high = entry.measure.possible
                assert max(mine.low, low) < min(mine.high, high), slug


def test_the_familys_window_stands_in() -> None:
    """A box that types one window has the family's for all others, each known for what it is."""
    box = box_from_bytes(f"{HEAD}measurements:\n  front-end-play: 0.008–0.016 in\n".encode())
    assert box.measurements["front-end-play"].origin == "box"
    assert box.measurements["rear-end-play"].origin == "family"
    window = box.measurements["front-end-play"].window
    assert window is not None
    assert window.low == pytest.approx(8 * THOU)


def test_a_box_adds_measurements_of_its_own() -> None:
    """With a name and a unit."""
    added = "measurements:\n  pawl-gap: {name: park pawl gap, unit: in, window: 0.010–0.030 in}\n"
    assert box_from_bytes(f"{HEAD}{added}".encode()).measurements["pawl-gap"].measure.name == "park pawl gap"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("measurements:\n  front-end-pley: 0.008 in\n", "line 6.*did you mean `front-end-play`"),
        ("measurements:\n  front-end-play: 8–16 psi\n", "line 6.*window must be in in"),
        ("measurements:\n  pawl-gap: {name: gap, window: 3 in}\n", "a name and a unit"),
        ("measurements:\n  front-end-play: 0.016–0.008 in\n", "low to high"),
        ("measurements:\n  front-end-play: {windw: 3 in}\n", "did you mean `window`"),
        (
            "assemblies:\n  a:\n    name: A\n    window: 1–2 mm\n    members: [{part: washr, acts: closes}]\n"
            "selective_parts: {washer: {name: w, sizes: [{size: 1 mm}]}}\n",
            "line 9.*did you mean `washer`",
        ),
        ("assemblies:\n  a: {name: A, members: [{acts: closes}]}\n", "one of `size`, `measured` or `part`"),
        (
            "assemblies:\n  a: {name: A, window: up to 2 mm, members: [{acts: opens, size: 1 mm}]}\n",
            "lower and an upper",
        ),
        ("assemblies:\n  a: {name: A, members: [{acts: widens, size: 1 mm}]}\n", "opens"),
        ("selective_parts: {w: {name: w, sizes: [{size: 1 mm}, {size: 1.1 in}]}}\n", "unit"),
        ("selective_parts: {w: {name: w, sizes: [{size: 1.85}]}}\n", "no unit"),
        ("selective_parts: {w: {name: w, sizes: [{size: 1 mm, stock: few}]}}\n", "whole number"),
        ("selective_parts: {w: {name: w, sizes: [{size: 1 mm, price: dear}]}}\n", "no price"),
    ],
)
def test_faults_are_named_with_their_line(text: str, said: str) -> None:
    """As all others of a box file."""
    with pytest.raises(BoxFileError) as caught:
        box_from_bytes(f"{HEAD}{text}".encode())
    import re

    assert re.search(said, str(caught.value), re.DOTALL), str(caught.value)


def test_a_stack_by_its_sizes_mixes_units() -> None:
    """Millimetres and inches side by side, tolerances and measured sizes each in their own way."""
    file = fits_from_bytes(FITS.encode())
    stack = stack_from(file.assemblies[0])
    assert stack.base == pytest.approx(2.2e-3)
    # A tolerance lies anywhere within ± 0.05 mm, a measured size is known to two standard deviations.
    assert stack.uncertainty == pytest.approx((0.05e-3**2 / 3 + 0.01e-3**2) ** 0.5)
    (fit,) = solve_fits([stack], file.parts).fits
    assert fit.chosen[0].piece.size == pytest.approx(0.075 * 0.0254)


def test_a_stack_without_a_window_or_sizes_is_refused() -> None:
    """By name, with what to do."""
    entry = load_box("box-a").assemblies[0]
    from dataclasses import replace

    with pytest.raises(QuantityError, match="no window"):
        stack_from(replace(entry, window=None))
    with pytest.raises(QuantityError, match="measure the clearance"):
        stack_from(replace(entry, members=None))
    with pytest.raises(QuantityError, match="size of the front-washer"):
        stack_from(entry, measured=0.0005)


@pytest.mark.parametrize("content", [b"", b"3", b"stacks:\n", b"stock: {}\n", b"\xff\xfe", b"a: [1"])
def test_what_is_no_fits_file_is_refused(content: bytes) -> None:
    """Empty, a figure, no stacks, no text, no YAML."""
    with pytest.raises(BoxFileError):
        fits_from_bytes(content)
