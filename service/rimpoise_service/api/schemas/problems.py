"""The shape of what goes wrong (RFC 9457)."""

from __future__ import annotations

from typing import Any

from marshmallow.fields import Field

from .base import ResponseSchema
from .messages import ValuesField
from .nested_fields import ListField, ObjectField
from .response_fields import IntegerField, StringField


class FaultSchema(ResponseSchema):
    """One thing that is wrong, and where."""

    pointer = StringField("into the request: a JSON pointer (RFC 6901) as a URI fragment, like #/planes/0/mass_g")
    detail = StringField("what is wrong, the value sent, and what to write instead")
    rule = StringField(
        "the rule that is broken, by its name in GET /v1/reference; null where the schema is", allow_none=True
    )
    code = StringField("stable: of the sentence, or the rule's name", allow_none=True)
    values = ValuesField("the numbers and names in the sentence, by name", dump_default={})

    def on_bind_field(self, field_name: str, field_obj: Field[Any]) -> None:
        """Others that answer for us, a proxy say, know no codes."""
        super().on_bind_field(field_name, field_obj)
        field_obj.required = field_name not in ("code", "values")


class ProblemSchema(ResponseSchema):
    """What went wrong. Programs go by type and rule; the texts are for people and may change."""

    type = StringField("/problems/ and a stable name; a path of the service, at which a page explains it")
    title = StringField("the type in words")
    status = IntegerField("the HTTP status")
    detail = StringField("this case in words")
    instance = StringField("an id of this occurrence; quote it to the people who run the service")
    errors = ListField(ObjectField(FaultSchema), "everything that is wrong with the request, up to 100", most=None)
