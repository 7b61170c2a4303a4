"""What a form of a page sent."""

from typing import Annotated

from fastapi import Depends
from starlette.datastructures import FormData
from starlette.requests import Request

from zonule.case_data import CaseData
from zonule.requirements import DEFAULT
from zonule.web.keeping import Told
from zonule.web.pages.answer_fields import answers_in
from zonule.web.pages.note_view import Filled


async def _posted(request: Request) -> FormData:
    return await request.form()


Posted = Annotated[FormData, Depends(_posted)]
"""The fields of a form."""


def text_of(form: FormData, name: str) -> str:
    """A field's text without the space around it; empty when it was not sent."""
    value = form.get(name)
    return value.strip() if isinstance(value, str) else ""


def texts_of(form: FormData, name: str) -> tuple[str, ...]:
    """All texts of a field that may come several times, each once, with the line ends that the words have."""
    sent = (value.replace("\r\n", "\n") for value in form.getlist(name) if isinstance(value, str) and value)
    return tuple(dict.fromkeys(sent))


def filled_from(form: FormData, case: CaseData | None) -> Filled:
    """The form of a note. Browsers send line ends as CR LF; the field held LF, and the words are kept as they stood."""
    words = form.get("dictation")
    undone, again = text_of(form, "undo"), text_of(form, "unkeep")
    answers = answers_in(form.multi_items())
    kept = dict.fromkeys(heard.casefold() for heard in texts_of(form, "keep"))  # as the repairs are told apart
    keep = tuple(heard for heard in kept if heard != again)
    accepted = (*texts_of(form, "accepted"), *texts_of(form, "accept"))
    return Filled(
        dictation=words.replace("\r\n", "\n") if isinstance(words, str) else "",
        answers={slot: value for slot, value in answers.items() if slot != undone},
        keep=keep,
        accepted=tuple(dict.fromkeys(heard for heard in accepted if heard.casefold() not in keep)),
        label=text_of(form, "label"),
        case=case,
        standard=text_of(form, "standard") or DEFAULT,
    )


def told_from(filled: Filled, answers: dict[str, str]) -> Told:
    """What is saved of the form: with those of its answers that can be taken."""
    return Told(
        dictation=filled.dictation,
        name=filled.name,
        keep=filled.keep,
        answers=answers,
        label=filled.label or None,
        case=filled.case,
        standard=filled.standard,
    )
