"""Writes to accounts and invitations, and withdrawing, bringing back and destroying records."""

from __future__ import annotations

import hashlib
import secrets
from datetime import timedelta
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.contrib.sessions.models import Session
from django.db import IntegrityError, transaction
from django.db.models.deletion import ProtectedError
from django.utils import timezone

from archive.access.changes import changing
from archive.access.models import Account, Invitation, Role, Tombstone
from archive.access.records import owners_of, touch
from archive.access.subjects import Subject

INVITATION_DAYS = 14


class NameTaken(ValueError):
    """The sign-in name belongs to somebody already."""


class InvitationOver(ValueError):
    """The invitation was used, withdrawn, or is too old."""


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def make_account(username: str, display_name: str, password: str, role: str) -> Account:
    """Make an account.

    Raises:
        NameTaken: somebody signs in with that name already.
        django.core.exceptions.ValidationError: the password is too weak.
    """
    account = Account(username=username.strip().casefold(), display_name=display_name.strip(), role=role)
    validate_password(password, account)
    account.set_password(password)
    with changing(None, "access.make_account"):
        try:
            with transaction.atomic():
                account.save()
        except IntegrityError:
            raise NameTaken(username) from None
    return account


def make_first_keeper(username: str, display_name: str, password: str) -> Account:
    """Make the keeper of a new archive.

    Raises:
        InvitationOver: the archive has a keeper already.
        django.core.exceptions.ValidationError: the password is too weak.
    """
    with changing(None, "access.first_keeper"):
        if Account.objects.exists():
            raise InvitationOver
        return make_account(username, display_name, password, Role.KEEPER)


def invite(who: Account, display_name: str, role: str) -> tuple[Invitation, str]:
    """Make an invitation and return it with its secret, which is shown once and kept nowhere."""
    secret = secrets.token_urlsafe(24)
    with changing(who, "access.invite"):
        invitation = Invitation.objects.create(
            digest=_digest(secret),
            display_name=display_name.strip(),
            role=role,
            expires_at=timezone.now() + timedelta(days=INVITATION_DAYS),
            created_by=who,
        )
    return invitation, secret


def open_invitation(secret: str) -> Invitation:
    """Find the invitation behind a link.

    Raises:
        InvitationOver: there is none that can still be used.
    """
    invitation = Invitation.objects.filter(digest=_digest(secret)).first()
    if invitation is None or invitation.used_at or invitation.withdrawn_at or invitation.expires_at < timezone.now():
        raise InvitationOver
    return invitation


def accept_invitation(secret: str, username: str, display_name: str, password: str) -> Account:
    """Make the account that an invitation promised, and use the invitation up.

    Raises:
        InvitationOver, NameTaken, django.core.exceptions.ValidationError
    """
    with changing(None, "access.accept_invitation"):
        invitation = open_invitation(secret)
        account = make_account(username, display_name, password, invitation.role)
        invitation.used_at = timezone.now()
        invitation.save(update_fields=["used_at"])
    return account


def withdraw_invitation(who: Account, invitation: Invitation) -> None:
    """Make an invitation's link useless."""
    with changing(who, "access.withdraw_invitation"):
        invitation.withdrawn_at = timezone.now()
        invitation.save(update_fields=["withdrawn_at"])


def set_password(account: Account, password: str) -> None:
    """Give an account a new password; whoever is signed in with the old one is signed out by Django."""
    validate_password(password, account)
    account.set_password(password)
    with changing(account, "access.password"):
        account.save(update_fields=["password"])


def set_active(who: Account, account: Account, active: bool) -> None:
    """Let somebody in or keep them out; keeping out ends their sessions at once.

    Raises:
        ValueError: the last keeper cannot be kept out.
    """
    with changing(who, "access.set_active"):
        others = Account.objects.filter(role=Role.KEEPER, is_active=True).exclude(pk=account.pk)
        if not active and account.is_keeper and not others.exists():
            raise ValueError("The last keeper cannot be kept out.")
        account.is_active = active
        account.save(update_fields=["is_active"])
        if not active:
            _end_sessions(account)


def _end_sessions(account: Account) -> None:
    for session in Session.objects.filter(expire_date__gte=timezone.now()):
        if session.get_decoded().get("_auth_user_id") == str(account.pk):
            session.delete()


def withdraw(who: Account, record: Any, why: str) -> None:
    """Hide a record from everyone but the keeper, at once; it can come back."""
    with changing(who, "access.withdraw"):
        record.withdrawn_at = timezone.now()
        record.withdrawn_why = why
        touch(record)
        record.save()


def bring_back(who: Account, record: Any) -> None:
    """Show a withdrawn record again to whoever may see it."""
    with changing(who, "access.bring_back"):
        record.withdrawn_at = None
        record.withdrawn_why = ""
        if hasattr(record, "united_with"):
            record.united_with = ""  # it is one of its own again; what moved to the other stays there
        touch(record)
        record.save()


def destroy(who: Account, subject: Subject, record: Any, reason: str) -> Tombstone:
    """Destroy a withdrawn record for good: rows, history rows and files. A tombstone stays.

    The files go last: a file without a row is swept up later, a row without a file would be a loss.

    Raises:
        ValueError: the record has not been withdrawn first, or another record names it; with a sentence.
    """
    from archive.keeping.media_store import forget_files

    if record.withdrawn_at is None:
        raise ValueError("Withdraw it first; then it can be destroyed for good.")
    files = subject.files(record)
    with changing(who, "access.destroy"):
        stone = Tombstone.objects.create(
            subject=subject.code,
            number=str(getattr(record, "number", "")),
            public_id=record.public_id,
            born_at=record.created_at,
            who=who,
            reason=reason,
        )
        try:
            _erase(record)
        except ProtectedError as error:
            holder: Any = next(iter(error.protected_objects))
            raise ValueError(
                f"It is still named by another record: {holder} ({holder._meta.verbose_name}). Change that first."
            ) from None
    forget_files(files)
    return stone


def _erase(record: Any) -> None:
    """Delete a record, what belongs to it, and every history row of all of them."""
    owned = [each for each in record._meta.related_objects if each.field.name in owners_of(each.related_model)]
    # Pictures before the pieces that they show: what points at another belonging goes first.
    models = {each.related_model for each in owned}
    owned.sort(key=lambda each: not any(f.related_model in models for f in each.related_model._meta.concrete_fields))
    for relation in owned:
        for part in relation.related_model._default_manager.filter(**{relation.field.name: record}):
            _erase(part)
    model, pk = type(record), record.pk
    record.skip_history_when_saving = True
    model._default_manager.filter(pk=pk).delete()
    if hasattr(model, "history"):
        model.history.filter(**{model._meta.pk.name: pk}).delete()
