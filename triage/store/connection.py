"""Open a survey folder: its database connection, folders and settings."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import tempfile
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

from triage.errors import SurveyError
from triage.replies.wording import check_own
from triage.store import migrations, tallies
from triage.store.rows import Record, record_of
from triage.store.settings import Settings, read_settings, write_default_settings

DATABASE = "survey.db"
SETTINGS = "survey.toml"
TEMPLATES = "templates"  # the survey's own wording of letters, if it has any
ROOM = 1_000_000  # bytes; SQLite makes files of a few pages when it opens a database
OWNER_ALONE = 0o600  # mail and names of people; systems without modes pass over it
FOLDER_OF_OWNER = 0o700
FOLDERS = ("originals", "messages", "previews", "replies")


@dataclass(eq=False)
class Survey:
    """One survey folder, open: close it, or use :func:`open_survey` as a context manager."""

    folder: Path
    connection: sqlite3.Connection
    settings: Settings
    read_only: bool = False

    def __post_init__(self) -> None:
        self.originals = self.folder / "originals"  # photos and other kept files, by digest
        self.messages = self.folder / "messages"  # raw mail, by digest
        self.previews = self.folder / "previews"  # small upright copies; may be deleted
        self.replies = self.folder / "replies"  # drafts of letters to senders

    def require_writing(self) -> None:
        """Refuse what would change a survey that can only be read.

        Raises
        ------
        SurveyError
            If the folder cannot be written to.
        """
        if self.read_only:
            raise SurveyError(
                "this survey can only be read",
                failing=str(self.folder),
                next_step="Copy the folder to a place that can be written, and work there.",
            )

    @contextmanager
    def transaction(self) -> Iterator[sqlite3.Connection]:
        """Everything inside is written, or nothing of it; nests as one transaction."""
        if self.connection.in_transaction:
            yield self.connection
            return
        self.connection.execute("begin immediate")
        try:
            yield self.connection
            tallies.note(self.connection)
        except BaseException:
            self.connection.execute("rollback")
            raise
        self.connection.execute("commit")

    def run(self, query: str, *values: Any) -> sqlite3.Cursor:
        """Run a statement; its values one by one, or by name in one dictionary."""
        named = len(values) == 1 and isinstance(values[0], Mapping)
        return self.connection.execute(query, values[0] if named else values)

    def run_each(self, query: str, values: Iterable[Sequence[Any]]) -> None:
        """Run a statement once with each of these."""
        self.connection.executemany(query, values)

    def row(self, query: str, *values: Any) -> Any:
        """The first row that a query finds; None if it finds nothing."""
        return self.run(query, *values).fetchone()

    def first(self, query: str, *values: Any) -> Any:
        """The first column of the first row that a query finds; None if it finds nothing."""
        row = self.row(query, *values)
        return row[0] if row is not None else None

    def column(self, query: str, *values: Any) -> list[Any]:
        """The first column of every row that a query finds."""
        return [row[0] for row in self.run(query, *values)]

    def records(self, kind: type[Record], query: str, *values: Any) -> list[Record]:
        """The record of every row that a query finds."""
        return [record_of(kind, row) for row in self.run(query, *values)]

    def record(self, kind: type[Record], query: str, *values: Any) -> Record | None:
        """The record of the first row that a query finds; None if it finds nothing."""
        row = self.row(query, *values)
        return None if row is None else record_of(kind, row)

    def count(self, rows: str, *values: Any) -> int:
        """How many rows there are: a table, with the condition that they meet if there is one."""
        return int(self.first(f"select count(*) from {rows}", *values))

    def exists(self, rows: str, *values: Any) -> bool:
        """Whether there is any such row."""
        return self.row(f"select 1 from {rows} limit 1", *values) is not None

    def run_in(self, query: str, wanted: Iterable[Any], *before: Any) -> list[Any]:
        """Run a statement whose ``(...)`` stands for what is wanted, in portions; gives its rows.

        ``before`` are the values of its own question marks, which come first.
        """
        found: list[Any] = []
        for portion in portions(wanted):
            marks = ",".join("?" * len(portion))
            found += self.run(query.replace("(...)", f"({marks})"), *before, *portion).fetchall()
        return found

    def column_in(self, query: str, wanted: Iterable[Any], *before: Any) -> set[Any]:
        """The first column of what :meth:`run_in` finds."""
        return {row[0] for row in self.run_in(query, wanted, *before)}

    def records_in(
        self, kind: type[Record], query: str, wanted: Iterable[Any], *before: Any
    ) -> list[Record]:
        """The records of what :meth:`run_in` finds."""
        return [record_of(kind, row) for row in self.run_in(query, wanted, *before)]

    def insert(self, table: str, values: Mapping[str, Any], *, replace: bool = False) -> int:
        """Add one row and return its number; with ``replace`` in place of one with the same key."""
        verb = "insert or replace" if replace else "insert"
        return int(self.run(_insertion(verb, table, values), *values.values()).lastrowid or 0)

    def insert_all(self, table: str, rows: Iterable[Mapping[str, Any]]) -> None:
        """Add many rows that have the same columns."""
        every = iter(rows)
        first = next(every, None)
        if first is not None:
            values = (list(row.values()) for row in chain([first], every))
            self.run_each(_insertion("insert", table, first), values)

    def update(self, table: str, values: Mapping[str, Any], **key: Any) -> None:
        """Write values into the row that the key names."""
        changes = ", ".join(f"{name} = ?" for name in values)
        where = " and ".join(f"{name} = ?" for name in key)
        self.run(f"update {table} set {changes} where {where}", *values.values(), *key.values())

    def close(self) -> None:
        """Close the database; a second call does nothing."""
        self.connection.close()


def _insertion(verb: str, table: str, columns: Mapping[str, Any]) -> str:
    marks = ", ".join("?" * len(columns))
    return f"{verb} into {table} ({', '.join(columns)}) values ({marks})"


def portions(values: Iterable[Any], size: int = 500) -> Iterator[list[Any]]:
    """Distinct values in the portions that one query may name."""
    wanted = list(dict.fromkeys(values))
    for start in range(0, len(wanted), size):
        yield wanted[start : start + size]


def connect(path: Path) -> sqlite3.Connection:
    """Open the database with foreign keys on, write-ahead logging and rows by name.

    A new one is its owner's alone; the files that SQLite puts beside it take its mode.
    """
    path.touch(mode=OWNER_ALONE)
    connection = sqlite3.connect(path, isolation_level=None, timeout=30)
    connection.row_factory = sqlite3.Row
    try:
        connection.execute("pragma foreign_keys = on")
        connection.execute("pragma journal_mode = wal")
        connection.execute("pragma synchronous = normal")
    except sqlite3.Error:
        connection.close()  # Windows removes or replaces no file that is open
        raise
    return connection


def create_survey(folder: Path, *, title: str = "", identifier: str = "") -> None:
    """Make the folders, the commented settings and the database; an existing survey is kept."""
    folder.mkdir(parents=True, exist_ok=True)
    _make_folders(folder)
    write_default_settings(
        folder / SETTINGS,
        title=title or folder.resolve().name,
        identifier=identifier or str(uuid.uuid4()),
    )
    with closing(connect(folder / DATABASE)) as connection:
        migrations.apply(connection)
    keep_private(folder)


def keep_private(folder: Path) -> None:
    """Let the owner alone read the database, the settings, and the folders of mail and photos.

    Files of somebody else, and disks without modes, are left as they are.
    """
    for name in (DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm", SETTINGS):
        with contextlib.suppress(OSError):
            (folder / name).chmod(OWNER_ALONE)
    for name in FOLDERS:
        with contextlib.suppress(OSError):
            (folder / name).chmod(FOLDER_OF_OWNER)


def is_survey(folder: Path) -> bool:
    """Whether the folder holds a survey."""
    return (folder / DATABASE).is_file()


@contextmanager
def open_survey(folder: Path) -> Iterator[Survey]:
    """Open an existing survey, bring its schema up to date, and close it afterwards.

    A folder that cannot be written to, as a copy on a locked stick, is looked at through a copy of
    its database that is gone afterwards; what would change the survey is refused.

    Raises
    ------
    SurveyError
        If the folder holds no survey, or its database is damaged or of a newer version.
    """
    if not is_survey(folder):
        raise SurveyError(
            "this folder holds no survey",
            failing=str(folder),
            next_step="Make one with 'triage init --survey FOLDER', or name the right folder.",
        )
    settings = read_settings(folder / SETTINGS)
    if (folder / TEMPLATES).is_dir():
        check_own(folder / TEMPLATES)
    writable = os.access(folder, os.W_OK) and os.access(folder / DATABASE, os.W_OK)
    with _blamed(folder):
        connection = connect(folder / DATABASE) if writable else _copied(folder / DATABASE)
    with closing(connection):
        if writable:
            _make_folders(folder)
            keep_private(folder)
        with _blamed(folder):
            migrations.apply(connection)
        yield Survey(folder, connection, settings, read_only=not writable)


def _make_folders(folder: Path) -> None:
    for name in FOLDERS:
        try:
            (folder / name).mkdir(exist_ok=True)
        except FileExistsError as error:
            raise SurveyError(
                "a file lies where a folder of the survey should be",
                failing=str(folder / name),
                next_step="Move it away, then run 'triage repair' with a copy of the survey.",
            ) from error


def _copied(path: Path) -> sqlite3.Connection:
    """A temporary copy of a database beside which nothing can be written."""
    connection = sqlite3.connect("", isolation_level=None)
    connection.row_factory = sqlite3.Row
    log = path.with_name(path.name + "-wal")
    with tempfile.TemporaryDirectory() as name:
        address = f"{path.absolute().as_uri()}?immutable=1"
        if log.exists() and log.stat().st_size:  # copied while somebody wrote: both belong together
            for one in (path, log):
                shutil.copyfile(one, Path(name) / one.name)
            address = (Path(name) / path.name).as_uri()
        with closing(sqlite3.connect(address, uri=True)) as source:
            source.backup(connection)
    connection.execute("pragma foreign_keys = on")
    return connection


@contextmanager
def _blamed(folder: Path) -> Iterator[None]:
    """Say of a database that cannot be opened that it is damaged, if no full disk or lock hinders.

    On a full disk SQLite reports a failure of the disk, since it cannot make its files.
    """
    try:
        yield
    except sqlite3.DatabaseError as error:
        if any(word in str(error) for word in ("locked", "full")):
            raise
        if shutil.disk_usage(folder).free < ROOM:
            raise sqlite3.OperationalError("database or disk is full") from error
        raise SurveyError(
            f"the database cannot be opened ({error})",
            failing=str(folder / DATABASE),
            next_step="Restore survey.db from a copy of the folder; originals and messages are"
            " kept.",
        ) from error
