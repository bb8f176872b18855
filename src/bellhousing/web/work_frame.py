"""What every page of the work on a job begins with: the job, its book, the margin, what was just written."""

from __future__ import annotations

from dataclasses import dataclass
from secrets import token_urlsafe

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response

from bellhousing.errors import BellhousingError
from bellhousing.reports.flange_drawing import SHAPES, DrawnHole, flange_svg, key_svg
from bellhousing.tasks import opening
from bellhousing.tasks.answers import JobAnswer
from bellhousing.tasks.ledger_answer import ledger_answer
from bellhousing.tasks.ledger_shapes import FlangeAnswer, LedgerAnswer, PartAnswer, SlotAnswer
from bellhousing.tasks.noting import WHO
from bellhousing.tasks.work_book import Book, BookLine, book_lines, read_book
from bellhousing.web.pages import Filled, page, shop_of, whole_of
from bellhousing.web.problems import NotFound
from bellhousing.web.session import person_of
from bellhousing.web.work_words import count_in_words, line_said
from bellhousing.work.entries import WITHDRAWN

LONGEST_WHO = 60


@dataclass(frozen=True)
class Did:
    """What was just written, and the entry to take back, None where it cannot be."""

    text: str
    entry: int | None


@dataclass(frozen=True)
class Frame:
    """What every page of the work shows around its own matter."""

    number: int
    here: str
    job: JobAnswer
    book: Book
    ledger: LedgerAnswer
    who: str
    """Whose name stands at what is written, the shop's where nobody is logged in."""

    key: str
    did: Did | None

    @property
    def open(self) -> bool:
        """Whether anything can be written."""
        return self.job.status == "open"

    def flange(self, slug: str) -> FlangeAnswer:
        """One flange.

        Raises
        ------
        NotFound : the box has none of that name
        """
        found = next((one for one in self.ledger.flanges if one.slug == slug), None)
        if found is None:
            raise NotFound(f"there is no flange '{slug[:60]}'", remedy="choose one of the list of flanges")
        return found

    def part(self, slug: str) -> PartAnswer:
        """One part; raises NotFound as `flange`."""
        found = next((one for one in self.ledger.parts if one.slug == slug), None)
        if found is None:
            raise NotFound(f"there is no part '{slug[:60]}'", remedy="choose one from the strip")
        return found


def frame_of(request: Request, number: int, here: str) -> Frame:
    """Gather what the pages of the work share; `here` is the address of the page itself."""
    shop = shop_of(request)
    book = read_book(shop, number)
    return Frame(
        number=number,
        here=here,
        job=opening.job(shop, number),
        book=book,
        ledger=ledger_answer(book),
        who=who_signs(request),
        key=token_urlsafe(12),
        did=_did(request, book),
    )


def who_signs(request: Request, said: str = "") -> str:
    """Whose name stands at an entry: who is logged in, else who is said to have done it, else the shop."""
    person = person_of(request)
    if person is not None:
        return person.name
    return " ".join(said.split())[:LONGEST_WHO] or WHO


def _did(request: Request, book: Book) -> Did | None:
    noted = whole_of(request.query_params.get("noted", ""))
    if noted is not None:
        found = [entry for entry in book.shop.store.current_findings(book.job) if entry.id == noted]
        return Did(f"among the findings: “{found[0].said}”", None) if found else None
    asked = whole_of(request.query_params.get("did", ""))
    if asked is None:
        return None
    try:
        line = last_of(book, asked)
    except BellhousingError:
        return None
    last = line.stands and line.kind != WITHDRAWN
    return Did(line_said(book.tree, line), line.number if last else None)


def last_of(book: Book, entry: int) -> BookLine:
    """The entry of a number as the book shows it; RecordError if there is none."""
    chain = book_lines(book.shop, book.job, entry)
    return next(line for line in chain if line.number == entry)


def work_page(
    request: Request,
    template: str,
    frame: Frame,
    *,
    filled: Filled | None = None,
    status: int = 200,
    **context: object,
) -> Response:
    """A page of the work."""
    return page(request, template, status=status, f=frame, filled=filled or Filled(), **context)


@dataclass(frozen=True)
class Taps:
    """How many one tap moves: as drawn, in words; none where nothing fits."""

    out: int
    back: int
    word: str

    @classmethod
    def of(cls, slots: tuple[SlotAnswer, ...]) -> Taps:
        """Of the slots of one flange or part."""
        out = [slot for slot in slots if slot.place in ("in", "back")]
        away = [slot for slot in slots if slot.place in ("out", "bagged")]
        plain = [slot for slot in away if not any(not one.answered for one in slot.exceptions)]
        return cls(len(out), len(plain), count_in_words(len(slots)))


@dataclass(frozen=True)
class Drawing:
    """A flange drawn, and the key to the states that occur on it: small drawing and words."""

    svg: Markup
    key: tuple[tuple[Markup, str], ...]


def drawing_of(flange: FlangeAnswer, *, link: str = "#hole-{}", sequence: tuple[int, ...] = ()) -> Drawing:
    """The drawing of a flange; with a sequence, the order of tightening stands in its holes."""
    order = {number: place for place, number in enumerate(sequence, 1)}
    holes = [
        DrawnHole(
            number=hole.number,
            x=hole.x,
            y=hole.y,
            place=hole.place,
            odd=any(not one.answered for one in hole.exceptions),
            text=hole.text,
            link=link.format(hole.number) if link else "",
            order=order.get(hole.number) if sequence else None,
        )
        for hole in flange.holes
    ]
    seen = [place for place in SHAPES if any(hole.place == place for hole in holes)]
    key = [(Markup(key_svg(place)), SHAPES[place]) for place in seen]
    if any(hole.odd for hole in holes):
        odd = next(hole.place for hole in holes if hole.odd)
        key.append((Markup(key_svg(odd, odd=True)), "not as drawn, no answer yet"))
    return Drawing(Markup(flange_svg(flange.name, flange.outline, holes)), tuple(key))
