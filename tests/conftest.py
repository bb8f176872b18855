"""What every test shares: reproducible property tests and the browser that is on this machine."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.truth.recorder import Recorder


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--truth FILE` has a run write down what its tests compare and which code they reach."""
    parser.addoption("--truth", metavar="FILE", help="write what the tests compare and reach here (-n 0)")


def pytest_configure(config: pytest.Config) -> None:
    """Load the recorder when it is asked for."""
    target = config.getoption("--truth", default=None)
    if target is not None:
        if getattr(config.option, "numprocesses", None):
            raise pytest.UsageError("--truth writes one file: give -n 0 with it")
        config.pluginmanager.register(Recorder(Path(str(target))), "truth-recorder")


# The same examples in every run, so that a check tells of a change and not of chance; for others there is
# `pytest --hypothesis-profile others`.
settings.register_profile(
    "others", deadline=None, max_examples=100, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("same", settings.get_profile("others"), derandomize=True, database=None)
settings.load_profile("same")


@pytest.fixture(scope="session")
def repository() -> Path:
    """The repository's root."""
    return Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session", autouse=True)
def prepared_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A cache for all workers of a run: each box and car is worked out once, and the user's own is let be."""
    from bellhousing.tasks import preparation

    own = tmp_path_factory.getbasetemp()
    folder = (own.parent if "PYTEST_XDIST_WORKER" in os.environ else own) / "prepared"
    folder.mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("BELLHOUSING_CACHE", str(folder))
        # Tests have more cars than a shop has at a time.
        patched.setattr(preparation, "MOST_FILES", 40)
        yield folder


@pytest.fixture(scope="session")
def chromium() -> str:
    """The path of the browser on this machine; a browser test without one is an error, never a pass."""
    from tests.serving import chromium_here

    return chromium_here()
