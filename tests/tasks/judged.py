"""What is believed after sentences in the trade's own words."""

from __future__ import annotations

from collections.abc import Sequence

from bellhousing.diagnosis.posterior import Diagnosis, diagnose
from bellhousing.diagnosis.prepare import Prepared
from bellhousing.tasks.hearing import Listener, hear


def judged(prepared: Prepared, said: Sequence[str]) -> Diagnosis:
    """What is believed after these sentences, each of which must be understood."""
    listener = Listener.of(prepared.catalogue)
    heard = [entry for line in said for entry in hear(line, listener, prepared.box)]
    assert all(entry.evidence is not None for entry in heard), [entry.answer for entry in heard]
    return diagnose(prepared, [entry.evidence for entry in heard if entry.evidence is not None])
