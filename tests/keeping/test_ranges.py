"""Range requests by the cases of RFC 9110 §14 (first byte, suffix, open end, past the end, several, If-Range)."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db


@pytest.fixture
def picture(make_thing: Any) -> tuple[str, bytes]:
    from archive.keeping.media_store import original_path

    found = make_thing(pictures=1).pictures.first()
    return reverse("pictures:file", args=[found.public_id]), original_path(found.sha256).read_bytes()


def body(answer: Any) -> bytes:
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


@pytest.mark.parametrize(
    ("header", "part"),
    [("bytes=0-0", slice(0, 1)), ("bytes=-500", slice(-500, None)), ("bytes=5-", slice(5, None)),
     ("bytes=10-19", slice(10, 20)), ("bytes=0-99999999", slice(None))],
)  # fmt: skip
def test_one_range(as_keeper: Any, picture: tuple[str, bytes], header: str, part: slice) -> None:
    address, data = picture
    answer = as_keeper.get(address, headers={"range": header})
    expected = data[part]
    start = len(data) - len(expected) if header == "bytes=-500" else (part.start or 0)
    assert answer.status_code == 206 and body(answer) == expected
    assert answer["Content-Range"] == f"bytes {start}-{start + len(expected) - 1}/{len(data)}"
    assert answer["Content-Length"] == str(len(expected))


def test_past_the_end_is_416(as_keeper: Any, picture: tuple[str, bytes]) -> None:
    address, data = picture
    for header in (f"bytes={len(data)}-", "bytes=-0"):
        answer = as_keeper.get(address, headers={"range": header})
        assert answer.status_code == 416 and answer["Content-Range"] == f"bytes */{len(data)}"


@pytest.mark.parametrize("header", ["bytes=0-1,5-6", "bytes=9-3", "items=0-1", "bytes=-", "bytes=a-b"])
def test_several_or_senseless_ranges_give_the_whole(as_keeper: Any, picture: tuple[str, bytes], header: str) -> None:
    address, data = picture
    answer = as_keeper.get(address, headers={"range": header})
    assert answer.status_code == 200 and body(answer) == data and answer["Accept-Ranges"] == "bytes"


def test_if_range_head_and_not_modified(as_keeper: Any, picture: tuple[str, bytes]) -> None:
    address, data = picture
    head = as_keeper.head(address)
    assert head["Content-Length"] == str(len(data)) and body(head) == b""
    tag, modified = head["ETag"], head["Last-Modified"]
    for condition, status in ((tag, 206), ('"other"', 200), (f"W/{tag}", 200), (modified, 206), ("nonsense", 200)):
        answer = as_keeper.get(address, headers={"range": "bytes=0-9", "if-range": condition})
        assert answer.status_code == status, condition
    assert as_keeper.get(address, headers={"if-none-match": tag}).status_code == 304


def test_a_reader_whose_access_ended_gets_404(as_keeper: Any, as_relative: Any, picture: tuple[str, bytes]) -> None:
    from archive.things.models import Thing

    assert as_relative.get(picture[0]).status_code == 200
    Thing.objects.update(access="keeper")
    assert as_relative.get(picture[0], headers={"range": "bytes=0-1"}).status_code == 404
