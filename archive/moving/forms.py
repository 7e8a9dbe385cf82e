"""The form that takes in rows, by pasting or as a file."""

from __future__ import annotations

from typing import Any

from django import forms

from archive.moving.table import NotText, decode

# A form may be 8 MB in all; the rows travel in it from page to page.
TEXT_AT_MOST = 7 * 1024 * 1024


class RowsForm(forms.Form):
    """Rows to be read."""

    text = forms.CharField(
        label="Your rows",
        required=False,
        strip=False,
        widget=forms.Textarea({"rows": 10, "spellcheck": "false"}),
        help_text="Mark the rows in your spreadsheet, the row with the headings too, copy them, and paste them here.",
    )
    file = forms.FileField(
        label="Or a file",
        required=False,
        widget=forms.FileInput({"accept": ".csv,.tsv,.txt,text/csv,text/tab-separated-values"}),
        help_text="A table saved as CSV or TSV. How its letters are written is found out.",
    )

    def clean(self) -> dict[str, Any]:
        got: dict[str, Any] = super().clean() or {}
        text, file = got.get("text") or "", got.get("file")
        if file is not None:
            if file.size > TEXT_AT_MOST:
                self.add_error("file", f"It is larger than {TEXT_AT_MOST // 1_048_576} MB. Divide it in two.")
                return got
            try:
                text, got["encoding"] = decode(file.read())
            except NotText as error:
                self.add_error("file", str(error))
                return got
        text = text.removeprefix("\ufeff")
        if not text.strip() and not self.errors:
            self.add_error("text", "Nothing was pasted, and no file was chosen.")
        if len(text.encode()) > TEXT_AT_MOST:
            self.add_error("text", f"It is more than {TEXT_AT_MOST // 1_048_576} MB. Paste it in two goes.")
        got["text"] = text
        return got
