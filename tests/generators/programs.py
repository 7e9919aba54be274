"""Programs in which generated clients ask every example of the contract; each exits 0 if all are answered."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple
from urllib.parse import urlsplit


class Case(NamedTuple):
    """An example of the document: the operation, the names of what it takes and answers, and the body."""

    path: str
    operation_id: str
    tag: str
    takes: str
    answers: str | None
    """None where the answer is a text."""
    body: Mapping[str, Any]


def cases(document: Mapping[str, Any]) -> list[Case]:
    """Every example of every operation, all but lines, which generated clients don't frame."""
    return [
        Case(
            path,
            operation["operationId"],
            operation["tags"][0],
            _noun(operation["requestBody"]["content"]["application/json"]),
            _noun(operation["responses"]["200"]["content"].get("application/json", {})) or None,
            example["value"],
        )
        for path, methods in document["paths"].items()
        for operation in methods.values()
        if "application/json" in operation.get("requestBody", {}).get("content", {})
        for example in operation["requestBody"]["content"]["application/json"]["examples"].values()
    ]


def _noun(content: Mapping[str, Any]) -> str:
    return str(content.get("schema", {}).get("$ref", "")).rpartition("/")[2]


def snake(name: str) -> str:
    """As Python names it.

    >>> snake("planFitting"), snake("fitting plan")
    ('plan_fitting', 'fitting_plan')
    """
    return re.sub(r"(?<=[a-z])(?=[A-Z])", "_", name.replace(" ", "_")).lower()


def pascal(name: str) -> str:
    """As Go names it.

    >>> pascal("planFitting"), pascal("fitting plan")
    ('PlanFitting', 'FittingPlan')
    """
    return "".join(word[:1].upper() + word[1:] for word in name.split(" "))


def openapi_fetch(requested: Iterable[Case], base_url: str) -> str:
    """TypeScript with openapi-fetch: the bodies stand in it as literals, so that the compiler checks them too."""
    lines = ['import createClient from "openapi-fetch";', 'import type { paths } from "./schema.js";']
    lines.append(f"const client = createClient<paths>({{ baseUrl: {json.dumps(base_url)} }});")
    lines.append("async function main() {")
    for case in requested:
        parse = "" if case.answers else ', parseAs: "text"'
        body = f"{{ body: {json.dumps(case.body)}{parse} }}"
        lines.append(f"  {{ const r = await client.POST({json.dumps(case.path)}, {body});")
        lines.append(
            f'    if (r.error !== undefined || r.data === undefined) throw new Error("{case.operation_id}"); }}'
        )
    return "\n".join([*lines, "}", "main().catch((e) => { console.error(e); process.exit(1); });", ""])


def hey_api(requested: Iterable[Case], base_url: str) -> str:
    """TypeScript with the functions that hey-api makes."""
    requested = list(requested)
    names = sorted({case.operation_id for case in requested})
    lines = [
        f'import {{ {", ".join(names)} }} from "./hey/index.js";',
        'import { client } from "./hey/client.gen.js";',
    ]
    lines += [f"client.setConfig({{ baseUrl: {json.dumps(base_url)} }});", "async function main() {"]
    for case in requested:
        lines.append(f"  {{ const r = await {case.operation_id}({{ body: {json.dumps(case.body)} }});")
        lines.append(
            f'    if (r.error !== undefined || r.data === undefined) throw new Error("{case.operation_id}"); }}'
        )
    return "\n".join([*lines, "}", "main().catch((e) => { console.error(e); process.exit(1); });", ""])


def openapi_python_client(requested: Iterable[Case], base_url: str) -> str:
    """Python with openapi-python-client; what was answered must come back out as it came in."""
    lines = ["import json", "from opc import Client, models", f"client = Client(base_url={base_url!r})"]
    for case in requested:
        module = f"opc.api.{snake(case.tag)}.{snake(case.operation_id)}"
        lines += [f"from {module} import sync_detailed as ask"]
        lines += [
            f"found = ask(client=client, body={_body(case)})",
            "assert found.status_code == 200, found.content",
        ]
        if case.answers:
            lines += [
                f"assert type(found.parsed) is models.{case.answers}, found",
                "json.dumps(found.parsed.to_dict())",
            ]
    return "\n".join([*lines, ""])


def _body(case: Case) -> str:
    if case.takes == "DrawingRequest":  # a union has no class of its own there
        kind = "OfPlan" if case.body["kind"] == "plan" else "OfRequest"
        return f"models.Drawing{kind}.from_dict({dict(case.body)!r})"
    return f"models.{case.takes}.from_dict({dict(case.body)!r})"


def openapi_generator_python(requested: Iterable[Case], base_url: str) -> str:
    """Python with openapi-generator."""
    lines = ["import rimpoise_gen as gen", f"client = gen.ApiClient(gen.Configuration(host={base_url!r}))"]
    for case in requested:
        body = f"gen.{case.takes}.from_json({json.dumps(json.dumps(case.body))})"
        way = snake(case.operation_id) + (
            "" if case.answers else "_without_preload_content"
        )  # it can't decode SVG
        lines += [f"found = gen.{pascal(case.tag)}Api(client).{way}({body})"]
        lines += [f"assert type(found) is gen.{case.answers}, found" if case.answers else "assert found.data"]
    return "\n".join([*lines, ""])


def go(requested: Iterable[Case], base_url: str) -> str:
    """Go with openapi-generator."""
    lines = [
        "package main",
        "",
        "import (",
        '\t"context"',
        '\t"encoding/json"',
        '\t"fmt"',
        '\t"os"',
        "",
        '\tgen "rimpoise/gen"',
        ")",
    ]
    lines += [
        "",
        "func check(name string, err error) {",
        "\tif err != nil {",
        "\t\tfmt.Println(name, err)",
        "\t\tos.Exit(1)",
    ]
    lines += ["\t}", "}", "", "func main() {", "\tconfiguration := gen.NewConfiguration()"]
    lines += [f"\tconfiguration.Servers = gen.ServerConfigurations{{{{URL: {json.dumps(base_url)}}}}}"]
    lines += ["\tclient := gen.NewAPIClient(configuration)", "\tctx := context.Background()"]
    for case in requested:
        call = f"client.{pascal(case.tag)}API.{pascal(case.operation_id)}(ctx).{case.takes}(body).Execute()"
        name = json.dumps(case.operation_id)
        lines += ["\t{", f"\t\tvar body gen.{case.takes}"]
        lines += [f"\t\tcheck({name}, json.Unmarshal([]byte({json.dumps(json.dumps(case.body))}), &body))"]
        lines += [f"\t\t_, _, err := {call}", f"\t\tcheck({name}, err)", "\t}"]
    return "\n".join([*lines, "}", ""])


def ruby(requested: Iterable[Case], base_url: str) -> str:
    """Ruby with openapi-generator."""
    lines = ['require "json"', 'require "rimpoise_gen"', "client = RimpoiseGen::ApiClient.default"]
    lines += ['client.config.scheme = "http"', f"client.config.host = {json.dumps(urlsplit(base_url).netloc)}"]
    for case in requested:
        way = "build" if case.takes == "DrawingRequest" else "build_from_hash"  # a union is a module there
        text = json.dumps(json.dumps(case.body)).replace("#", "\\#")
        answers = f"RimpoiseGen::{case.answers}" if case.answers else "String"
        lines += [f"body = RimpoiseGen::{case.takes}.{way}(JSON.parse({text}, symbolize_names: true))"]
        lines += [f"found = RimpoiseGen::{pascal(case.tag)}Api.new(client).{snake(case.operation_id)}(body)"]
        lines += [f"raise found.inspect unless found.is_a?({answers})"]
    return "\n".join([*lines, ""])
