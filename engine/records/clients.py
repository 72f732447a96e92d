"""Clients, known by a code."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sqlalchemy import func, insert, select, update
from sqlalchemy.engine import Connection

from engine.errors import ConfigError, bad_value
from engine.records import tables as t
from engine.records.opening import Records, now_utc

CODE_LENGTH = 32


@dataclass(frozen=True)
class Client:
    """A client.

    Attributes
    ----------
    code : such as HERON-07; no name is needed.
    identifier : a second identifier, such as a year of birth or a chosen word.
    card : free fields, by name. child : a guardian consents for them.
    n_sessions : numbered sessions so far. last_utc : when the last visit began; empty if none.
    """

    code: str
    identifier: str = ""
    card: Mapping[str, str] = field(default_factory=dict)
    child: bool = False
    n_sessions: int = 0
    last_utc: str = ""


def clean_code(text: str) -> str:
    """Return a code as it is kept: upper case, no spaces around; ConfigError if it is none."""
    code = " ".join(text.split()).upper()
    if not code or len(code) > CODE_LENGTH or not code.isprintable():
        accepted = f"1 to {CODE_LENGTH} letters, digits and signs"
        raise bad_value("client code", text, accepted, "write another, such as HERON-07")
    return code


def clients(records: Records) -> tuple[Client, ...]:
    """Return all clients, whoever came last first, those who never came at the end."""
    with records.reading() as connection:
        rows = connection.execute(
            select(t.client, func.max(t.visit.c.number), func.max(t.visit.c.began_utc))
            .outerjoin(t.visit, t.visit.c.client_id == t.client.c.id)
            .group_by(t.client.c.id)
        ).all()
    found = [
        Client(row.code, row.identifier, row.card, row.child, row[-2] or 0, row[-1] or "")
        for row in rows
    ]
    found.sort(key=lambda client: client.code)
    found.sort(key=lambda client: client.last_utc, reverse=True)
    return tuple(found)


def find_client(records: Records, code: str) -> Client | None:
    """Return the client of a code, or None."""
    wanted = clean_code(code)
    return next((client for client in clients(records) if client.code == wanted), None)


def add_client(records: Records, client: Client) -> Client:
    """Keep a new client; ConfigError where the code is taken."""
    code = clean_code(client.code)
    with records.writing() as connection:
        if id_of(connection, code) is not None:
            raise ConfigError(
                f"client code is {code!r}, but one that is not taken is accepted; choose another, "
                "or open that client."
            )
        insert_client(connection, Client(code, client.identifier, client.card, client.child))
    return Client(code, client.identifier, client.card, client.child)


def change_client(records: Records, client: Client) -> None:
    """Keep another card, identifier or age group of a client; ConfigError where unknown."""
    with records.writing() as connection:
        connection.execute(
            update(t.client)
            .where(t.client.c.id == known_id(connection, client.code))
            .values(identifier=client.identifier, card=dict(client.card), child=client.child)
        )


def id_of(connection: Connection, code: str) -> int | None:
    """Return the number of a client in the tables, or None."""
    wanted = select(t.client.c.id).where(t.client.c.code == clean_code(code))
    found: int | None = connection.execute(wanted).scalar()
    return found


def known_id(connection: Connection, code: str) -> int:
    """Return the number of a client; ConfigError where there is none."""
    found = id_of(connection, code)
    if found is None:
        raise bad_value("client code", code, "the code of a client who is kept", "add the client")
    return found


def insert_client(connection: Connection, client: Client) -> int:
    """Insert a client, and return the number."""
    result = connection.execute(
        insert(t.client).values(
            code=clean_code(client.code),
            identifier=client.identifier,
            card=dict(client.card),
            child=client.child,
            since_utc=now_utc(),
        )
    )
    assert result.inserted_primary_key is not None
    return int(result.inserted_primary_key[0])
