"""A PostgreSQL server of the tests' own: in a folder that is thrown away, reached by a socket in it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from itertools import count
from pathlib import Path
from types import TracebackType
from typing import Self

UNPRIVILEGED = "nobody"
MEMORY = Path("/dev/shm")
ROOM = 4 * 2**30
"""Room that a hundred databases of eight megabytes want, twice, and as much again [bytes]."""
MISSING = "no PostgreSQL server on this machine: apt-get install --no-install-recommends postgresql"


def programs() -> Path | None:
    """The folder of the server's programs on this machine, the newest version's; None if there are none."""
    found = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    if found:
        return max(found, key=lambda path: float(path.parent.name))
    on_path = shutil.which("initdb")
    return None if on_path is None else Path(on_path).resolve().parent


def in_memory() -> Path | None:
    """A folder that lies in memory, if there is one with room; None for the usual one."""
    try:
        return MEMORY if os.access(MEMORY, os.W_OK) and shutil.disk_usage(MEMORY).free > ROOM else None
    except OSError:
        return None


class Server:
    """A server that runs as nobody in particular; `safe` makes it keep every word through a loss of power."""

    def __init__(self, *, safe: bool = False) -> None:
        bin_folder = programs()
        if bin_folder is None:
            raise RuntimeError(MISSING)
        self._bin = bin_folder
        self._user = UNPRIVILEGED if os.geteuid() == 0 else None
        self._numbers = count(1)
        # A hundred databases are thirty thousand files, which take a busy disk minutes to throw away.
        self.folder = Path(tempfile.mkdtemp(prefix="bellhousing-server-", dir=None if safe else in_memory()))
        self.folder.chmod(0o755)
        self._data = self.folder / "data"
        self._data.mkdir(mode=0o700)
        if self._user is not None:
            for path in (self.folder, self._data):
                shutil.chown(path, self._user)
        self._run("initdb", "--no-sync", "--auth=trust", "--username=shop", "--encoding=UTF8",
                  "--locale=C.UTF-8", "-D", str(self._data))  # fmt: skip
        durable = "on" if safe else "off"
        self._settings = {
            "listen_addresses": "",
            "unix_socket_directories": str(self.folder),
            "fsync": durable,
            "full_page_writes": durable,
            "shared_buffers": "32MB",
            "max_connections": "60",
            # In its own folder, so that a server that was killed leaves nothing behind elsewhere.
            "dynamic_shared_memory_type": "mmap",
        }
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        """Start it and wait until it answers."""
        options = [part for name, value in self._settings.items() for part in ("-c", f"{name}={value}")]
        log = (self.folder / "log").open("ab")
        self._process = subprocess.Popen(
            [str(self._bin / "postgres"), "-D", str(self._data), *options],
            stdout=log, stderr=log, stdin=subprocess.DEVNULL, user=self._user, cwd=self.folder,
        )  # fmt: skip
        log.close()
        for _ in range(600):
            ready = subprocess.run([str(self._bin / "pg_isready"), "-q", "-h", str(self.folder)], check=False)
            if ready.returncode == 0:
                return
            if self._process.poll() is not None:
                break
            time.sleep(0.05)
        raise RuntimeError((self.folder / "log").read_text()[-2000:])

    def kill(self) -> None:
        """End it as a crash would: it and all its helpers at once, nothing put in order."""
        assert self._process is not None
        helpers = Path(f"/proc/{self._process.pid}/task/{self._process.pid}/children").read_text().split()
        self._process.kill()
        self._process.wait()
        for helper in helpers:
            try:
                os.kill(int(helper), signal.SIGKILL)
            except ProcessLookupError:
                continue
        for helper in helpers:
            while Path(f"/proc/{helper}").exists():
                time.sleep(0.005)

    def address(self, database: str) -> str:
        """The address of one of its databases."""
        return f"postgresql://shop@/{database}?host={self.folder}"

    def new_database(self, template: str = "template0") -> str:
        """Make a database that no test had before; its name."""
        import psycopg

        name = f"shop{next(self._numbers)}"
        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"'.encode())
        return name

    def close(self) -> None:
        """Stop it and throw its folder away."""
        if self._process is not None and self._process.poll() is None:
            # Nothing in it is needed any more, so it need not put itself in order.
            self._process.send_signal(signal.SIGQUIT)
            try:
                self._process.wait(timeout=20)
            except subprocess.TimeoutExpired:
                self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _run(self, program: str, *arguments: str) -> None:
        subprocess.run(
            [str(self._bin / program), *arguments],
            check=True, capture_output=True, user=self._user, cwd=self.folder, stdin=subprocess.DEVNULL,
        )  # fmt: skip
