"""The shape of what goes wrong (RFC 9457)."""

from __future__ import annotations

from typing import Any

from marshmallow.fields import Field

from .base import ResponseSchema
from .messages import ValuesField
from .nested_fields import ListField, ObjectField
from .response_fields import IntegerField, StringField


class FaultSchema(ResponseSchema):
    """One thing that is wrong with the request, and where."""

    pointer = StringField(
        "Place in the request, as a JSON pointer (RFC 6901) in a URI fragment, like #/planes/0/mass_g."
    )
    detail = StringField("What is wrong, the value sent, and what to write instead.")
    rule = StringField(
        "Name of the broken rule, as in GET /v1/reference; null where the schema is broken.", allow_none=True
    )
    code = StringField(
        "Stable code of the sentence, or the rule's name; null where there is neither.", allow_none=True
    )
    values = ValuesField("Numbers and names in the sentence, by name.", dump_default={})

    def on_bind_field(self, field_name: str, field_obj: Field[Any]) -> None:
        """Others that answer for us, a proxy say, know no codes."""
        super().on_bind_field(field_name, field_obj)
        field_obj.required = field_name not in ("code", "values")


class ProblemSchema(ResponseSchema):
    """What went wrong. Programs go by type and rule; the texts are for people and may change."""

    type = StringField("Path of the type of problem, /problems/ and a stable name, at which a page explains it.")
    title = StringField("Title of the type of problem.")
    status = IntegerField("HTTP status of the answer.")
    detail = StringField("This case in plain words.")
    instance = StringField("Identifier of this occurrence, to quote to whoever runs the service.")
    errors = ListField(
        ObjectField(FaultSchema), "Everything that is wrong with the request, up to 100 faults.", most=None
    )
