"""Finding records by what somebody typed. Nothing is answered from, or told of, what the reader may not see."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.db.models import IntegerField, Q, QuerySet, Value
from django.utils import timezone

from archive.access.models import Account
from archive.folding import fold
from archive.search import matching, vocabulary
from archive.search.asking import Question, Span, ask, read_span
from archive.search.documents import MODELS
from archive.search.matching import COUNTED, these
from archive.search.models import SUBJECTS, SearchIndex, subject_of
from archive.things.models import IssuedNumber

# How a question is understood is part of reading it, for the filters of things too.
__all__ = [
    "Findings", "Question", "Ranked", "Span", "ask", "find", "in_time", "is_being_made", "kept", "narrowed",
    "near_numbers", "read_span", "these", "with_number",
]  # fmt: skip

ENOUGH = 5  # fewer than these have near words tried too
_NEAR_OF_EACH = 100
# How a hit came about, the best first.
EXACT_TITLE, TITLE_BEGINS, WORDS, BEGINNINGS, BY_TIME, NEAR, SOME_WORDS = range(7)
NUMBERED = ("things", "boxes", "lots")
_T = TypeVar("_T")
_TIMES = {
    "things": ("made_earliest", "made_latest"),
    "people": ("born_earliest", "died_latest"),
    "stories": ("about_earliest", "about_latest"),
}


@dataclass
class Ranked:
    """The records of one subject that this reader may see, the best first."""

    ids: list[int] = field(default_factory=list)
    more: bool = False  # there are more than these
    best: int = SOME_WORDS


@dataclass
class Findings:
    """What was found: by subject, and by which other words."""

    by_subject: dict[str, Ranked] = field(default_factory=dict)
    near_words: list[str] = field(default_factory=list)
    some_words: bool = False  # nothing has all the words

    @property
    def is_empty(self) -> bool:
        return not self.by_subject

    def subjects(self) -> list[str]:
        """Return the subjects with hits, the best hit first."""
        return sorted(self.by_subject, key=lambda each: (self.by_subject[each].best, SUBJECTS.index(each)))


@dataclass
class _Pool:
    """Hits so far: of each record how it was found, and what sorts it among its like."""

    hits: dict[tuple[str, int], tuple[int, float]] = field(default_factory=dict)
    full: set[str] = field(default_factory=set)
    seen: set[tuple[str, int]] = field(default_factory=set)  # came from what the reader may see

    def add(self, subject: str, record_id: int, how: int, score: float = 0.0) -> None:
        self.hits.setdefault((subject, record_id), (how, score))


def find(question: Question, reader: Account | None) -> Findings:
    """Return what a question finds, in the order: titles, words, beginnings of words, times, near words."""
    found = Findings()
    pool = _Pool()
    if question.span is None or question.year:
        _by_words(question, reader, pool)
    if question.span is not None:
        _by_time(question, reader, pool)
    seen = _visible(pool, reader)
    if question.words and len(seen.hits) < ENOUGH:
        _by_near_words(question, reader, seen, found)
    for (subject, record_id), (how, _score) in sorted(seen.hits.items(), key=_order):
        ranked = found.by_subject.setdefault(subject, Ranked(more=subject in seen.full, best=how))
        if len(ranked.ids) < COUNTED:
            ranked.ids.append(record_id)
        else:
            ranked.more = True
    return found


def _order(hit: tuple[tuple[str, int], tuple[int, float]]) -> tuple[int, float, int]:
    (_subject, record_id), (how, score) = hit
    return how, score, -record_id


def _by_words(question: Question, reader: Account | None, pool: _Pool) -> None:
    words = [*question.words, *([(question.year,)] if question.year else [])]
    if not words:
        return
    level, columns = matching.level_of(reader), matching.columns_of(reader)
    if question.span is None:
        for (subject, record_id), how in matching.titled(_as_title(question.typed), level, _NEAR_OF_EACH).items():
            pool.add(subject, record_id, EXACT_TITLE if how == 0 else TITLE_BEGINS)
    match = matching.expression(words, columns, beginnings=False)
    scanned = matching.scan(match, level, COUNTED + 1)
    exact = {(subject, record_id) for subject, ids in scanned.items() for record_id in ids}
    if len(exact) <= COUNTED and question.span is None:
        match = matching.expression(words, columns, beginnings=True)
        scanned = matching.scan(match, level, COUNTED + 1)
    pool.full = {subject for subject, ids in scanned.items() if len(ids) > COUNTED}
    _rank(words, match, scanned, exact, level, pool)


def _rank(words: matching.Words, match: str, scanned: Mapping[str, list[int]], exact: set[tuple[str, int]],
          level: int, pool: _Pool) -> None:  # fmt: skip
    """Rank by bm25 what is few; of what is much, titles that hold the words go first, then the newest."""
    few = [subject for subject, ids in scanned.items() if 1 < len(ids) <= COUNTED]
    total = sum(len(scanned[subject]) for subject in few)
    score: dict[tuple[str, int], float] = {}
    if few and total <= COUNTED:
        found = matching.scores(match, (matching.id_range(subject, level) for subject in few))
        score = {subject_of(entry): rank for entry, rank in found.items()}
    if pool.full or total > COUNTED:
        in_title = matching.scan(matching.expression(words, "title", beginnings=False), level, COUNTED)
        for subject, ids in in_title.items():
            for record_id in ids:
                score.setdefault((subject, record_id), -1000.0)
                if subject in pool.full:
                    pool.add(subject, record_id, WORDS, -1000.0)
    for subject, ids in scanned.items():
        for record_id in ids:
            key = (subject, record_id)
            pool.add(subject, record_id, WORDS if key in exact else BEGINNINGS, score.get(key, 0.0))


def _as_title(typed: str) -> str:
    return " ".join(fold(typed).split())


def _by_time(question: Question, reader: Account | None, pool: _Pool) -> None:
    level, match = matching.level_of(reader), ""
    often: dict[str, int] = {}
    if question.words:
        # Whole words first: beginnings of a common word are many times the work.
        for beginnings in (False, True):
            match = matching.expression(question.words, matching.columns_of(reader), beginnings=beginnings)
            often = matching.counted(match, _TIMES, level)
            if sum(often.values()) >= ENOUGH:
                break
    for subject, (first, _last) in _TIMES.items():
        if question.words and not often[subject]:
            continue
        records = in_time(MODELS[subject].objects.visible_to(reader), subject, question.span)
        if question.words:
            records = matching.having(records, match, subject, level, many=often[subject] > COUNTED)
        ids = list(records.order_by(f"-{first}", "-pk").values_list("pk", flat=True)[: COUNTED + 1])
        if len(ids) > COUNTED:
            pool.full.add(subject)
        for place, record_id in enumerate(ids):
            pool.add(subject, record_id, BY_TIME, float(place))
        pool.seen.update((subject, record_id) for record_id in ids)


def in_time(records: QuerySet[Any], subject: str, span: Span | None, years: int = 110) -> QuerySet[Any]:
    """Return the records whose time (made, lived, told of) overlaps a span; those without a time are left out.

    Somebody without a known death is taken to have lived for ``years`` after birth.
    """
    if span is None:
        return records
    if subject == "people":
        return _alive(records, span, years)
    first, last = _TIMES[subject]
    records = records.exclude(**{first: "", last: ""})
    if span.latest is not None:
        records = records.filter(**{f"{first}__lte": span.latest})
    if span.earliest is not None:
        records = records.filter(Q(**{last: ""}) | Q(**{f"{last}__gte": span.earliest}))
    return records


def _alive(people: QuerySet[Any], span: Span, years: int) -> QuerySet[Any]:
    born = ~Q(born_earliest="", born_latest="")
    died = ~Q(died_earliest="", died_latest="")
    people = people.filter(born | died)
    if span.latest is not None:
        # Whose birth is not known is taken to have been born within those years before death.
        until = _years_on(span.latest, years)
        people = people.filter(Q(born & Q(born_earliest__lte=span.latest)) | Q(~born & Q(died_earliest__lte=until)))
    if span.earliest is not None:
        since = _years_on(span.earliest, -years)
        people = people.filter(
            Q(died & (Q(died_latest="") | Q(died_latest__gte=span.earliest))) | Q(~died & Q(born_latest__gt=since))
        )
    return people


def _years_on(day: str, years: int) -> str:
    year = int(day[:5] if day.startswith("-") else day[:4]) + years
    return f"{min(max(year, 0), 9999):04d}{day[-6:]}"


def _visible(pool: _Pool, reader: Account | None) -> _Pool:
    """Return the hits that this reader may see, asked of the records themselves.

    Where a subject hides nothing from this reader there is nothing to ask; the index goes with its records.
    """
    ids: dict[str, list[int]] = {}
    for subject, record_id in pool.hits.keys() - pool.seen:
        ids.setdefault(subject, []).append(record_id)
    seen = _Pool(full=pool.full)
    for key in [*_may_see(ids, reader), *pool.seen]:
        seen.hits[key] = pool.hits[key]
    return seen


def _may_see(ids: Mapping[str, Iterable[int]], reader: Account | None) -> list[tuple[str, int]]:
    visible = {subject: MODELS[subject].objects.visible_to(reader) for subject in ids}
    open_to_all = [subject for subject, records in visible.items() if not records.query.where]
    shown = [(subject, record_id) for subject in open_to_all for record_id in ids[subject]]
    parts = [
        visible[subject]
        .filter(pk__in=matching.these(some))
        .order_by()
        .annotate(_subject=Value(SUBJECTS.index(subject), IntegerField()))
        .values_list("_subject", "pk")
        for subject, some in ids.items()
        if subject not in open_to_all
    ]
    if not parts:
        return shown
    rows = parts[0].union(*parts[1:], all=True) if len(parts) > 1 else parts[0]
    return shown + [(SUBJECTS[subject], record_id) for subject, record_id in rows]


def _by_near_words(question: Question, reader: Account | None, seen: _Pool, found: Findings) -> None:
    """Try words a slip or two away; should nothing have them all, some of them are enough."""
    near = {word: vocabulary.near(word) for word in dict.fromkeys(_tried(question))}
    columns, level = matching.columns_of(reader), matching.level_of(reader)
    ways = ["AND"] if question.span or len(question.words) == 1 else ["AND", "OR"]
    for join in ways:
        if join == "AND" and not any(near.values()):
            continue
        if join == "OR" and seen.hits:
            return
        match = matching.expression(question.words, columns, beginnings=join == "AND", near=near, join=join)
        texts = matching.texts(match, columns, level, _NEAR_OF_EACH)
        shown = set(_may_see(_by_subject(entry for entry, _, _ in texts), reader))
        if question.span is not None:
            shown = _within(shown, question.span)
        for entry, title, other in texts:
            key = subject_of(entry)
            if key not in shown or key in seen.hits:
                continue
            missing, slips, words = _nearness(question, near, f"{title} {other}")
            in_title = _nearness(question, near, title)[0]
            seen.add(*key, SOME_WORDS if missing else NEAR, missing * 100 + slips * 10 + in_title + len(title) / 1000)
            found.near_words += [word for word in words if word not in found.near_words]
            found.some_words |= bool(missing)


def _tried(question: Question) -> Iterable[str]:
    """Return the words for which near ones are looked up: typed words whole, and their pieces."""
    for pieces in question.words:
        yield "".join(pieces)
        yield from pieces


def _by_subject(entries: Iterable[int]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for entry in entries:
        subject, record_id = subject_of(entry)
        found.setdefault(subject, []).append(record_id)
    return found


def _within(shown: set[tuple[str, int]], span: Span) -> set[tuple[str, int]]:
    kept: set[tuple[str, int]] = set()
    for subject in _TIMES:
        ids = [record_id for each, record_id in shown if each == subject]
        if ids:
            records = in_time(MODELS[subject].objects.filter(pk__in=ids), subject, span)
            kept |= {(subject, record_id) for record_id in records.values_list("pk", flat=True)}
    return kept


def _nearness(question: Question, near: Mapping[str, Mapping[str, int]], text: str) -> tuple[int, int, list[str]]:
    """Return how many typed words a text lacks, how many slips lie between the others, and its words near them."""
    own = set(vocabulary.words_of(text))
    missing, slips, words = 0, 0, []
    for pieces in question.words:
        whole = "".join(pieces)
        if whole in own or all(piece in own for piece in pieces):
            continue
        ways = [(distance, word) for word, distance in near.get(whole, {}).items() if word in own]
        if len(pieces) > 1:
            parts = [(d, w) for piece in pieces for w, d in near.get(piece, {}).items() if w in own]
            ways += parts
        if ways:
            distance, word = min(ways)
            slips += distance
            words.append(word)
        elif not any(word.startswith(whole) for word in own):
            missing += 1
    return missing, slips, words


def with_number(serial: int, reader: Account | None) -> Any | None:
    """Return the thing, box or lot with a serial that this reader may see."""
    issued = IssuedNumber.objects.filter(pk=serial, subject__in=NUMBERED).first()
    if issued is None:
        return None
    return MODELS[issued.subject].objects.visible_to(reader).filter(serial=serial).first()


def near_numbers(numbers: Iterable[str], reader: Account | None) -> list[Any]:
    """Return the things, boxes and lots with one of these numbers that this reader may see."""
    serials = [int(number.rpartition("-")[0]) for number in numbers]
    return [
        record
        for subject in NUMBERED
        for record in MODELS[subject].objects.visible_to(reader).filter(serial__in=serials).order_by("serial")
    ]


def narrowed(records: QuerySet[Any], subject: str, question: Question, reader: Account | None) -> QuerySet[Any]:
    """Return those of some records that have the words and the time of a question; near words if none has."""
    timed = in_time(records, subject, question.span)
    columns, level = matching.columns_of(reader), matching.level_of(reader)
    if not question.words:
        if not question.year:
            return timed
        year = matching.expression([(question.year,)], columns, beginnings=False)
        by_text = matching.having(records, year, subject, level)
        return records.filter(Q(pk__in=by_text.order_by().values("pk")) | Q(pk__in=timed.order_by().values("pk")))
    match = matching.expression(question.words, columns, beginnings=True)
    often = matching.counted(match, [subject], level)[subject]
    found = matching.having(timed, match, subject, level, many=often > COUNTED)
    if often > COUNTED or found.order_by().exists():
        return found
    near = {word: vocabulary.near(word) for word in dict.fromkeys(_tried(question))}
    match = matching.expression(question.words, columns, beginnings=True, near=near)
    often = matching.counted(match, [subject], level)[subject]
    return matching.having(timed, match, subject, level, many=often > COUNTED)


_kept: dict[tuple[str, int, str], tuple[int, Any]] = {}


def kept(name: str, reader: Account | None, count: Callable[[], _T]) -> _T:
    """Return what was counted before, as long as nothing has changed since, for readers who may see the same."""
    key = (name, matching.level_of(reader), timezone.localdate().isoformat())
    generation = vocabulary.generation()
    # Another thread may empty the table at any moment, so that it is asked once.
    known = _kept.get(key)
    if known is None or known[0] != generation:
        if len(_kept) > 30:
            _kept.clear()
        known = _kept[key] = (generation, count())
    found: _T = known[1]
    return found


def is_being_made() -> bool:
    """Say whether the index still lacks records, as after an upgrade."""
    return SearchIndex.objects.filter(complete=False).exists()
