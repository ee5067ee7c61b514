"""A PostgreSQL server of one's own in a folder of one's own, which can be stopped, killed and started again.

It listens on a unix socket alone, runs as an unprivileged user (PostgreSQL refuses the machine's administrator), and is
gone with its folder at the end, also when whoever started it is killed.
"""

from __future__ import annotations

import os
import pwd
import secrets
import shlex
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

__all__ = ["MISSING", "DatabaseServer", "database_server", "programs"]

MISSING = "PostgreSQL is not installed here"
"""Said where there is nothing to start."""
_USERS = ("postgres", "nobody")
_OWNER = "shop"
_PASSWORD = "an invented: pass/word?"  # noqa: S105 - of a server that nobody else can reach; hard to write into a URL


def programs() -> Path | None:
    """The folder of the server's programs, the newest version's; None where there is none."""
    known = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    found = shutil.which("initdb")
    known += [Path(found).resolve()] if found and not known else []
    return known[-1].parent if known else None


class DatabaseServer:
    """One cluster; ``safe`` = every commit is on the disk, for runs that kill it; else it is quick."""

    def __init__(self, *, safe: bool = False) -> None:
        bin_ = programs()
        if bin_ is None:
            raise RuntimeError(MISSING)
        self._bin, self._safe = bin_, safe
        self.folder = Path(tempfile.mkdtemp(prefix="benches-", dir="/tmp"))  # a socket's path must be short
        self._user = _unprivileged()
        if self._user:
            shutil.chown(self.folder, self._user)
        secret = self.folder / "secret"
        secret.write_text(_PASSWORD)
        if self._user:
            shutil.chown(secret, self._user)
        self._run(
            "initdb",
            "-D",
            self._data,
            "-U",
            _OWNER,
            "-A",
            "scram-sha-256",
            f"--pwfile={secret}",
            "-E",
            "UTF8",
            "--locale=C.UTF-8",
            *(() if safe else ("--no-sync",)),
        )
        self._guard = self._guarded()
        self.start()

    def start(self) -> None:
        """Start it; it answers when this returns."""
        off = "" if self._safe else " -c fsync=off -c full_page_writes=off"
        options = f"-k {self.folder} -c listen_addresses='' -c max_connections=60{off}"
        log = str(self.folder / "log")
        self._run("pg_ctl", "start", "-w", "-t", "60", "-s", "-D", self._data, "-l", log, "-o", options)

    def stop(self, how: str = "fast") -> None:
        """Stop it: ``fast`` cuts the connections, ``immediate`` is as if it had crashed."""
        self._run("pg_ctl", "stop", "-w", "-s", "-m", how, "-D", self._data)

    def address(self, database: str, password: str = _PASSWORD) -> str:
        """The address of a database as a person writes it."""
        return f"postgresql://{_OWNER}:{quote(password, safe='')}@/{database}?host={self.folder}"

    def new_database(self) -> str:
        """The address of a database that is empty."""
        name = "shop_" + secrets.token_hex(4)
        self.ask(f"CREATE DATABASE {name}")
        return self.address(name)

    def cut(self) -> int:
        """Cut every connection but one's own; how many there were."""
        found = self.ask(
            "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity "
            "WHERE pid <> pg_backend_pid() AND backend_type = 'client backend'"
        )
        return int(found[0][0])

    def ask(self, said: str, database: str = "postgres") -> list[tuple[int | str, ...]]:
        """What the server answers to ``said``."""
        import psycopg

        where = psycopg.conninfo.make_conninfo(host=str(self.folder), user=_OWNER, password=_PASSWORD, dbname=database)
        with psycopg.connect(where, autocommit=True) as connection:
            cursor = connection.execute(said.encode())
            return [] if cursor.description is None else cursor.fetchall()

    def remove(self) -> None:
        """End it and take its folder away."""
        subprocess.run(self._as_user("pg_ctl", "stop", "-s", "-m", "immediate", "-D", self._data), check=False)  # noqa: S603
        shutil.rmtree(self.folder, ignore_errors=True)
        if self._guard.stdin is not None:
            self._guard.stdin.close()
        self._guard.wait(60.0)

    def _guarded(self) -> subprocess.Popen[bytes]:
        """A shell that ends the server once the pipe to it closes, which it does however this process ends."""
        stop = shlex.join(self._as_user("pg_ctl", "stop", "-s", "-m", "immediate", "-D", self._data))
        script = f"read -r _; {stop} >/dev/null 2>&1; rm -rf {shlex.quote(str(self.folder))}"
        return subprocess.Popen(["/bin/sh", "-c", script], stdin=subprocess.PIPE, start_new_session=True)  # noqa: S603

    @property
    def _data(self) -> str:
        return str(self.folder / "data")

    def _run(self, name: str, *options: str) -> None:
        done = subprocess.run(  # noqa: S603 - the server's own programs
            self._as_user(name, *options), cwd=self.folder, capture_output=name != "pg_ctl", text=True, check=False
        )
        if done.returncode:
            raise RuntimeError(f"{name} failed: {done.stderr or (self.folder / 'log').read_text()[-2000:]}")

    def _as_user(self, name: str, *options: str) -> list[str]:
        before = ["runuser", "-u", self._user, "--"] if self._user else []
        return [*before, str(self._bin / name), *options]


@contextmanager
def database_server(*, safe: bool = False) -> Iterator[DatabaseServer]:
    """A server for as long as this lasts."""
    server = DatabaseServer(safe=safe)
    try:
        yield server
    finally:
        server.remove()


def _unprivileged() -> str:
    """The user it has to run as, '' = this one."""
    if os.geteuid() != 0:
        return ""
    there = {one.pw_name for one in pwd.getpwall()}
    return next(name for name in _USERS if name in there)
