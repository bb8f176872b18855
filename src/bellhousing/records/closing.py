"""What must be let go of at the end: used in a `with`, it closes itself."""

from __future__ import annotations

from abc import ABC, abstractmethod
from types import TracebackType
from typing import Self


class Closing(ABC):
    """Something with a `close` that may be used in a `with`."""

    @abstractmethod
    def close(self) -> None:
        """Let go of what is held."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
