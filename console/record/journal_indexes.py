"""The indexes by which a long journal is searched. They repeat what stands in the entries and are not hashed.

A journal that was made without them is read all the same, and gets them when it is next opened for writing.
"""

from __future__ import annotations

import sqlite3

INDEXES = (
    "CREATE INDEX entry_by_kind ON entry (kind)",
    # By their very bytes: with letters compared regardless of case, a bit that flips in one goes unseen.
    "CREATE INDEX entry_by_operator ON entry (operator)",
    "CREATE INDEX entry_by_moment ON entry (happened_at, operator)",
)
"""Made in this order, behind everything else."""

NAMES = ("entry_by_kind", "entry_by_operator", "entry_by_moment")


def has_indexes(connection: sqlite3.Connection) -> bool:
    """Whether this journal has them all.

    Raises:
        sqlite3.Error: the file cannot be read.
    """
    found = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'index'")
    return {name for (name,) in found} >= set(NAMES)


def add_indexes(connection: sqlite3.Connection) -> bool:
    """Give an older journal its indexes; whether it has them now. Without, it is only slower.

    All or none of them: one writer makes them, and who came second finds them made.
    """
    try:
        if has_indexes(connection):
            return True
        connection.execute("BEGIN IMMEDIATE")
        try:
            if not has_indexes(connection):
                for statement in INDEXES:
                    connection.execute(statement)
            connection.execute("COMMIT")
        finally:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
    except sqlite3.Error:
        return False
    return True
