"""Forms of accounts, invitations, withdrawing and destroying."""

from __future__ import annotations

from django import forms

from archive.access.models import Account, Role


class SignInForm(forms.Form):
    username = forms.CharField(
        label="Your sign-in name",
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = forms.CharField(
        label="Your password", widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )


class NewAccountForm(forms.Form):
    display_name = forms.CharField(label="Your name, as the family knows you", max_length=120)
    username = forms.CharField(
        label="A short name to sign in with",
        max_length=60,
        help_text="Small letters; capitals make no difference.",
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = forms.CharField(
        label="A password",
        help_text="Eight letters or more. Three words in a row are easy to keep in mind.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class FirstKeeperForm(NewAccountForm):
    code = forms.CharField(
        label="The code shown on the computer that Kistbook runs on",
        max_length=20,
        required=False,
        help_text="It stands in the window in which Kistbook was started.",
    )
    home_name = forms.CharField(label="A name for this home", max_length=120, initial="Our home")

    field_order = ("code", "home_name", "display_name", "username", "password")


class InviteForm(forms.Form):
    display_name = forms.CharField(label="Name of the relative", max_length=120)
    role = forms.ChoiceField(
        label="What they may do",
        choices=[
            (Role.RELATIVE, "look, tell and add (relative)"),
            (Role.KEEPER, "everything, as you may (keeper)"),
        ],
        initial=Role.RELATIVE,
    )


class PasswordForm(forms.Form):
    old = forms.CharField(
        label="Your password now", widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )
    new = forms.CharField(label="Your new password", widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}))

    def __init__(self, account: Account, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.account = account

    def clean_old(self) -> str:
        typed = str(self.cleaned_data["old"])
        if not self.account.check_password(typed):
            raise forms.ValidationError("This is not the password you sign in with now.")
        return typed


class ReasonForm(forms.Form):
    reason = forms.CharField(label="Why", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))


class DestroyForm(ReasonForm):
    password = forms.CharField(
        label="Your password", widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )

    def __init__(self, account: Account, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.account = account

    def clean_password(self) -> str:
        typed = str(self.cleaned_data["password"])
        if not self.account.check_password(typed):
            raise forms.ValidationError("This is not your password.")
        return typed
