"""Spoilt files of every sort that is read: each is taken or refused in words, in bounded memory and time."""

from __future__ import annotations

import argparse
import io
import random
import shutil
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from PIL import Image

from bellhousing.boxes.load import box_from_bytes, shipped_boxes, shipped_text
from bellhousing.errors import BellhousingError
from bellhousing.records.pictures import read_picture
from bellhousing.tasks import keeping, learning, noting, opening, shop_boxes
from bellhousing.tasks.changing_settings import settings_of_shop
from bellhousing.tasks.file_answers import read_bench_case
from bellhousing.tasks.fits import fits_of_file
from bellhousing.tasks.leaks import leaks_of_file
from bellhousing.tasks.road_logs import read_road_log
from bellhousing.tasks.shop import Shop, open_shop
from tests.road.invented_drives import Logger, loop, sampled, written
from tests.road.reading_logs import columns_of
from tests.soak.memory import most_megabytes
from tests.soak.spoiling import bomb_png, spoilt, spoilt_archive
from tests.tasks.full_job import SETTINGS, full_shop, picture

MOST_MEMORY = 1024
"""The most memory the program may ever have taken, whatever it was given to read [MiB]."""
TOO_LONG = 60.0
"""A file that takes longer is a fault, even on a busy machine [s]."""
LONGEST_REFUSAL = 20_000
MOST_PROBLEMS = 20
FINDINGS = """\
box: box-a
car: {axle_ratio: 3.08, tyre_radius: 0.345 m, altitude: 900 ft}
findings:
  - blue smoke when pulling away after idling
  - fluid level low
  - 2-3 at 64 mph light throttle
  - line pressure in D at idle 62 psi
  - manifold vacuum 18 inHg
  - pan gasket wet, 3 drips a minute
measured:
  - front end play 0.021 in
"""
FITS = """\
stacks:
  end-play:
    name: End play
    window: 0.006–0.018 in
    measured: 0.021 in ± 0.002 in
    members: [{part: washer, acts: closes, fitted: 0.072 in}]
  travel:
    name: Travel
    window: 1.5–2.5 mm
    members:
      - {name: bore, acts: opens, size: 63.50 mm ± 0.10 mm}
      - {part: pin, acts: closes}
stock:
  washer:
    name: thrust washer
    tolerance: 0.0005 in
    sizes: [{size: 0.080 in, mark: green, stock: 1}, {size: 0.084 in, to_buy: 3, price: "4.50"}]
  pin:
    name: apply pin
    sizes: [{size: 61.0 mm, stock: 2}]
"""
Read = Callable[[bytes, Path], object]


@dataclass
class Outcome:
    """What came of the files of one sort."""

    sort: str
    seed: int
    files: int = 0
    read: int = 0
    refused: int = 0
    problems: list[str] = field(default_factory=list)
    longest: float = 0.0
    megabytes: int = 0
    seconds: float = 0.0

    @property
    def sound(self) -> bool:
        """Whether each was read or refused in words, in bounded memory; one at least has to be read."""
        return self.read > 0 and not self.problems and self.megabytes < MOST_MEMORY


@dataclass(frozen=True)
class Sort:
    """A sort of file: sound ones, ones made on purpose, how it is spoilt, and what reads it."""

    sound: Sequence[bytes]
    read: Read
    made: Sequence[bytes] = ()
    spoil: Callable[[random.Random, Sequence[bytes]], bytes] = spoilt


def options(parser: argparse.ArgumentParser) -> None:
    """What may be asked for."""
    parser.add_argument("--count", type=int, default=2000, help="files of each sort")
    parser.add_argument("--minutes", type=float, default=60.0, help="the longest a sort may take")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sort", action="append", help="only this sort; may be given more than once")


def run(asked: argparse.Namespace) -> Iterator[Outcome]:
    """The files asked for, sort by sort."""
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory(prefix="bellhousing-files-") as held:
        folder = Path(held)
        with full_shop(folder / "shop", cache=folder / "cache") as shop, open_shop(folder / "other") as other:
            sorts = _sorts(shop, other, folder)
            for name in asked.sort or sorts:
                yield _try(name, sorts[name], asked, folder)


def _try(name: str, sort: Sort, asked: argparse.Namespace, folder: Path) -> Outcome:
    outcome = Outcome(name, asked.seed)
    chance = random.Random(f"{name} {asked.seed}")
    began = time.monotonic()
    ends = began + 60.0 * asked.minutes
    made = iter((*sort.sound, *sort.made))
    while outcome.files < asked.count and time.monotonic() < ends and len(outcome.problems) < MOST_PROBLEMS:
        data = next(made, None)
        if data is None:
            data = sort.spoil(chance, sort.sound)
        outcome.files += 1
        start = time.monotonic()
        problem = _read(sort, data, folder, outcome)
        took = time.monotonic() - start
        outcome.longest = max(outcome.longest, round(took, 2))
        if took > TOO_LONG:
            problem = problem or f"took {took:.0f} s"
        if problem is not None:
            outcome.problems.append(f"file {outcome.files}: {problem}")
    outcome.megabytes = most_megabytes()
    outcome.seconds = round(time.monotonic() - began, 1)
    return outcome


def _read(sort: Sort, data: bytes, folder: Path, outcome: Outcome) -> str | None:
    try:
        sort.read(data, folder)
    except BellhousingError as error:
        outcome.refused += 1
        return "refused at great length" if len(str(error)) > LONGEST_REFUSAL else None
    except Exception as error:
        trace = error.__traceback__
        place = ""
        while trace is not None:
            if "bellhousing" in trace.tb_frame.f_code.co_filename:
                place = f"{Path(trace.tb_frame.f_code.co_filename).name}:{trace.tb_lineno}"
            trace = trace.tb_next
        return f"broke with {error!r:.200} at {place}"
    outcome.read += 1
    return None


def _sorts(shop: Shop, other: Shop, folder: Path) -> dict[str, Sort]:
    boxes = [shipped_text(name).encode() for name in shipped_boxes()]
    nested = b"a: &a [x]\n" + b"".join(
        b"%c: &%c [%s]\n" % (now, now, b",".join([b"*%c" % (now - 1)] * 9)) for now in range(98, 110)
    )
    nested_long = b"findings: " + b"[" * 100_000
    log = written(columns_of(sampled(loop(), Logger(seed=8)), "vacuum")).encode()
    short = b"\n".join(log.split(b"\n")[:1500])
    tally = learning.tally_text(shop).encode()
    all_of_it = folder / "all.zip"
    keeping.export(shop, all_of_it)
    return {
        "box": Sort(boxes, _box, (nested, nested_long, b"a" * 300_000)),
        "typed box": Sort(boxes, lambda data, _: shop_boxes.check_box(shop, data.decode("utf-8", "replace"))),
        "findings": Sort(
            [FINDINGS.encode()], _findings, (nested, nested_long, b"findings:\n" + b"- x\n" * 100_000)
        ),
        "fits": Sort([FITS.encode()], lambda data, at: fits_of_file(_kept(data, at / "m.yaml"))),
        "log": Sort([short], _log, (log, b"x," * 500_000, b"t,speed\n" * 200_000, b"\x00" * 2**20)),
        "archive": Sort([all_of_it.read_bytes()], _archive, spoil=spoilt_archive),
        "photo": Sort(_pictures(), lambda data, _: read_picture(data, "photo"), _bombs()),
        "tally": Sort([tally], lambda data, _: _tally(other, data), (b"[" * 100_000,)),
        "settings": Sort([SETTINGS.encode()], _settings, (nested,)),
        "typed line": Sort(
            [line.encode() for line in FINDINGS.split("\n") if line.strip()],
            lambda data, _: noting.preview(shop, _open_job(shop), data.decode("utf-8", "replace")),
        ),
    }


def _open_job(shop: Shop) -> int:
    return next(job.number for job in opening.jobs(shop) if job.status == "open")


def _kept(data: bytes, path: Path) -> Path:
    path.write_bytes(data)
    return path


def _box(data: bytes, _: Path) -> object:
    return box_from_bytes(data)


def _findings(data: bytes, folder: Path) -> object:
    path = _kept(data, folder / "findings.yaml")
    return read_bench_case(path), leaks_of_file(path)


def _tally(other: Shop, data: bytes) -> object:
    taken = learning.take_in(other, data, "a tally")
    for one in taken.tallies:
        learning.take_back(other, one.digest)
    return taken


def _log(data: bytes, folder: Path) -> object:
    return read_road_log(_kept(data, folder / "log.csv"))


def _settings(data: bytes, folder: Path) -> object:
    with open_shop(folder / "settings") as shop:
        _kept(data, folder / "settings" / "shop.yaml")
        return settings_of_shop(shop)


def _archive(data: bytes, folder: Path) -> object:
    """Taken into an empty shop; nothing may be written beside it."""
    around = folder / "around"
    shutil.rmtree(around, ignore_errors=True)
    (around / "shop").mkdir(parents=True)
    with open_shop(around / "shop") as empty:
        path = _kept(data, around / "taken.zip")
        try:
            return keeping.take_in(empty, path)
        finally:
            beside = {one.name for one in around.iterdir()} - {"shop", "taken.zip"}
            assert not beside, beside


def _pictures() -> list[bytes]:
    held = []
    image = Image.open(io.BytesIO(picture((90, 30, 20), "pan"))).resize((300, 200))
    for kind in ("JPEG", "PNG"):
        buffer = io.BytesIO()
        image.save(buffer, kind)
        held.append(buffer.getvalue())
    held.append((Path(__file__).parents[1] / "records" / "data" / "sideways.heic").read_bytes())
    return held


def _bombs() -> list[bytes]:
    """Pictures that say they are huge: one that is mostly missing, one that holds all it says."""
    return [bomb_png(60_000, 60_000, 4), bomb_png(20_000, 20_000, 2000), bomb_png(9_000, 9_000, 9_000)]
