"""Lending things and having them back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from archive.access.changes import changing
from archive.access.models import Account
from archive.access.records import touch
from archive.people.actions import person_for
from archive.people.queries import NewName
from archive.things.models import Loan, Thing


class AlreadyLent(ValueError):
    """The thing is lent to somebody and has not come back."""


def lend(who: Account | None, thing: Thing, values: Mapping[str, Any]) -> Loan:
    """Write down that a thing goes out.

    Raises:
        AlreadyLent: it is out already.
    """
    with changing(who, "things.lend"):
        if thing.loans.filter(returned_on__isnull=True).exists():
            raise AlreadyLent
        loan = Loan(thing=thing)
        _fill(who, loan, values)
    return loan


def change_loan(who: Account | None, loan: Loan, values: Mapping[str, Any]) -> None:
    """Change what is written down about a loan.

    Raises:
        AlreadyLent: it would be open while another loan of the same thing is open.
    """
    with changing(who, "things.change_loan"):
        others = loan.thing.loans.filter(returned_on__isnull=True).exclude(pk=loan.pk)
        if values.get("returned_on") is None and others.exists():
            raise AlreadyLent
        touch(loan)
        _fill(who, loan, values)


def come_back(who: Account | None, loan: Loan, day: date) -> None:
    """Write down that a lent thing is in the house again."""
    with changing(who, "things.come_back"):
        loan.returned_on = day
        touch(loan)
        loan.save()


def remove_loan(who: Account | None, loan: Loan) -> None:
    """Take away a loan that was written down by mistake; the history can bring it back."""
    with changing(who, "things.remove_loan"):
        loan.delete()


def _fill(who: Account | None, loan: Loan, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(loan, name, person_for(who, value) if isinstance(value, NewName) else value)
    loan.save()
