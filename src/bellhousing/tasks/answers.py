"""The shapes every door hands out: what was said, the causes, the next test, the sheet of a job."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Shape(BaseModel):
    """Base of all answers: frozen, strict, no unknown key."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid")


class Limit(Shape):
    """The window shown beside a reading, in the unit the reading was entered in.

    `inside` is the probability that the true value lies in the window; `verdict` says it in words.
    """

    low: float
    high: float
    unit: str
    source: str
    inside: float
    verdict: str


class Alternative(Shape):
    """Something else the same words could mean; `noting.take_instead` puts it in place of what was taken."""

    finding: str
    name: str
    states: tuple[str, ...] = ()
    word: str | None = None


class ConditionAnswer(Shape):
    """One condition a reading was taken under: its name, as written, as a figure [SI], where it comes from.

    `source` is "said", "last" (taken from the last reading) or "usual" (usual for this finding);
    `in_words` says it.
    """

    name: str
    text: str
    source: str
    in_words: str
    value: float | None = None


class FindingAnswer(Shape):
    """One thing that was said and what was understood of it.

    `value` is the figure in the unit as entered, or the state as a slug; `understood` is null where the
    words were only kept as a note, and `note` then says why.  `number` is the record it is kept under,
    `sound_share` the share of sound cars that would show the same state.  `counts` is false for a note, and
    for a finding of which a later one was given: the last counts, or the last series of tries together.
    `conditions` tell how a reading was taken, `remark` what became of it beside others of the same thing.
    `source` is "owner" for what was read from the complaint, "shop" for all else.
    """

    said: str
    finding: str | None
    value: float | str | None
    unit: str | None
    understood: str | None
    name: str | None = None
    shown: str | None = None
    uncertainty: float | None = None
    assumed: tuple[str, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    note: str | None = None
    number: int | None = None
    at: str | None = None
    sound_share: float | None = None
    counts: bool = True
    limit: Limit | None = None
    conditions: tuple[ConditionAnswer, ...] = ()
    remark: str | None = None
    source: str = "shop"


class InfluenceAnswer(Shape):
    """What one finding did to the odds of one cause: `factor` above 1 speaks for it, below 1 against it."""

    said: str
    finding: str
    name: str
    shown: str
    factor: float


class CauseAnswer(Shape):
    """One cause with its marginal probability and Monte Carlo standard error; most probable first."""

    cause: str
    name: str
    probability: float
    error: float
    why: tuple[InfluenceAnswer, ...] = ()
    mechanism: str = ""


class NextTest(Shape):
    """A test that may be done now, with what it would tell; `cautions` stand where the danger is.

    `first` says which test it opens the way to; `in_words` is empty where it is worth doing only for that.
    """

    finding: str
    ask: str
    minutes: float
    bits: float
    bits_per_minute: float
    name: str = ""
    in_words: str = ""
    cautions: tuple[str, ...] = ()
    first: str | None = None


class ForbiddenAnswer(Shape):
    """A test that must not be done as things stand, and why."""

    ask: str
    why: str
    finding: str


class ConflictAnswer(Shape):
    """Findings that no likely set of causes explains together; `suspect` is the finding to look at again."""

    text: str
    suspect: str | None = None
    said: str | None = None


class Answer(Shape):
    """What was found, the causes in order and what to look at next: what `causes --json` gives."""

    findings: tuple[FindingAnswer, ...]
    causes: tuple[CauseAnswer, ...]
    next: tuple[NextTest, ...]
    forbidden: tuple[ForbiddenAnswer, ...]
    not_looked_at: tuple[str, ...]
    conflict: ConflictAnswer | None
    notes: tuple[str, ...] = ()
    box: str = ""
    box_name: str = ""
    box_digest: str = ""
    seed: int = 1
    unexplored: float = 0.0
    neglected: float = 0.0
    assumed: tuple[str, ...] = ()


class NextAnswer(Shape):
    """What to look at next, and what is forbidden as things stand."""

    next: tuple[NextTest, ...]
    forbidden: tuple[ForbiddenAnswer, ...]
    notes: tuple[str, ...] = ()


class NoteAnswer(Shape):
    """What became of one note: everything said is among `findings`, understood or kept as a note.

    `problems` holds one clear sentence for each part that was refused; `withdrawn` the entry taken back.
    """

    job: int
    findings: tuple[FindingAnswer, ...]
    problems: tuple[str, ...] = ()
    withdrawn: FindingAnswer | None = None


class CarAnswer(Shape):
    """A car of the shop; a figure that is null is not known, and the usual one is taken."""

    slug: str
    name: str
    box: str
    axle_ratio: float | None = None
    tyre_radius: str | None = None
    altitude: str | None = None
    note: str = ""


class JobChangeAnswer(Shape):
    """A job being opened, closed or opened again; `who` is empty where that was not yet kept."""

    at: str
    status: str
    who: str
    note: str


class JobAnswer(Shape):
    """A job as the list shows it; `findings` counts what was noted and stands.

    Right after opening `heard` holds what was understood of the complaint, and `problems` what was not.
    `changes` are told of one job, oldest first, and left out of lists.
    """

    number: int
    car: CarAnswer
    complaint: str
    opened: str
    status: str
    odometer: str | None = None
    findings: int = 0
    leading: str | None = None
    heard: tuple[FindingAnswer, ...] = ()
    problems: tuple[str, ...] = ()
    changes: tuple[JobChangeAnswer, ...] = ()


class ChoiceAnswer(Shape):
    """One tap of the interview."""

    answer: str
    label: str


class QuestionAnswer(Shape):
    """One question of the interview; `given` is the answer already on record."""

    finding: str
    ask: str
    choices: tuple[ChoiceAnswer, ...]
    given: str | None = None


class CurveBand(Shape):
    """Road speeds [mph] at which a shift is made, one triple per vacuum; null where it never comes."""

    shift: str
    low: tuple[float | None, ...]
    median: tuple[float | None, ...]
    high: tuple[float | None, ...]


class ForcedShift(Shape):
    """Road speed [mph] up to which the pedal on its stop forces a downshift; null where it never does."""

    shift: str
    low: float | None
    median: float | None
    high: float | None


class DrivenPoint(Shape):
    """A shift that was driven and noted: road speed [mph] at a manifold vacuum [inHg]."""

    shift: str
    speed: float
    vacuum: float
    throttle: str
    said: str


class ShiftMapAnswer(Shape):
    """The predicted shift map against what was driven; `fault` is null for a sound car.

    `notes` holds the sentences of a findings file that were not understood.
    """

    fault: str | None
    fault_name: str | None
    vacuum: tuple[float, ...]
    curves: tuple[CurveBand, ...]
    forced: tuple[ForcedShift, ...]
    driven: tuple[DrivenPoint, ...] = ()
    notes: tuple[str, ...] = ()
    vacuum_unit: str = "inHg"
    speed_unit: str = "mph"


class Sheet(Shape):
    """One job on one page: car, complaint, findings on their limit lines, causes, next test."""

    job: JobAnswer
    interview: tuple[QuestionAnswer, ...]
    answer: Answer
