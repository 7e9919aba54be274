"""The shape of what goes wrong (RFC 9457)."""

from __future__ import annotations

from .base import Answer
from .nested_fields import Listed, Object
from .response_fields import Whole, Word


class ProblemErrorSchema(Answer):
    """One thing that is wrong, and where."""

    pointer = Word("into the request: a JSON pointer (RFC 6901) as a URI fragment, like #/planes/0/mass_g")
    detail = Word("what is wrong, the value sent, and what to write instead")
    rule = Word(
        "the rule that is broken, by its name in GET /v1/reference; null where the schema is", allow_none=True
    )


class ProblemSchema(Answer):
    """What went wrong. Programs go by type and rule; the texts are for people and may change."""

    type = Word("/problems/ and a stable name")
    title = Word("the type in words")
    status = Whole("the HTTP status")
    detail = Word("this case in words")
    instance = Word("an id of this occurrence; quote it to the people who run the service")
    errors = Listed(Object(ProblemErrorSchema), "everything that is wrong with the request, up to 100", most=None)
