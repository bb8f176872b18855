"""An environment for libraries that the package is measured against and never needs; made where missing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PLACE = ROOT / "build" / "benchmark-environment"
LIBRARIES = ("pyagrum==3.3.1", "pgmpy==1.1.2", "highspy==1.16.0")


def other_python() -> Path:
    """The Python of that environment, outside every lock of the project.

    Raises
    ------
    SystemExit : nothing could be installed, for want of the network perhaps.
    """
    python = PLACE / "bin" / "python"
    stamp = PLACE / "installed"
    if stamp.exists() and stamp.read_text(encoding="utf-8") == "\n".join(LIBRARIES):
        return python
    uv = Path(sys.executable).parent / "uv"
    try:
        subprocess.run([uv, "venv", "--quiet", "--clear", "--python", sys.executable, PLACE], check=True)
        subprocess.run(
            [uv, "pip", "install", "--quiet", "--only-binary", ":all:", "--python", python, *LIBRARIES],
            check=True,
        )
    except (OSError, subprocess.CalledProcessError) as error:
        raise SystemExit(f"the environment for the other libraries could not be made: {error}") from error
    stamp.write_text("\n".join(LIBRARIES), encoding="utf-8")
    return python
