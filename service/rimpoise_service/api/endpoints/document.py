"""Every operation in the document's order, the document, and the operations that answer it."""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from threading import Lock

from ... import __version__
from .. import openapi
from ..http.endpoint import get
from ..schemas.status import VersionSchema
from . import (
    corrections,
    drawings,
    measurements,
    plan_batch,
    plans,
    run_outs,
    second_spin,
    service,
    spreads,
    vehicles,
    workshop,
)
from .tags import SERVICE


@get("/version", "getVersion", tag=SERVICE, answers=VersionSchema)
def get_version() -> dict[str, str]:
    """What runs here, and which contract it keeps.

    `document_sha256` is the hash of the bytes of `GET /openapi.yaml`: where it is the same, so is the contract.
    """
    digest = sha256(document().encode()).hexdigest()
    return {"name": "rimpoise", "version": __version__, "document_sha256": digest}


@get("/openapi.yaml", "getOpenapi", tag=SERVICE, media_type="application/yaml", kept=True)
def get_openapi() -> str:
    """This document, OpenAPI 3.1 as YAML.

    It changes with the version alone; its `ETag` says whether what you keep is still good.
    """
    return document()


ENDPOINTS = (
    plans.plans,
    plans.plans_sheet,
    *drawings.ENDPOINTS,
    plans.style_choices,
    *corrections.ENDPOINTS,
    *plan_batch.ENDPOINTS,
    *workshop.ENDPOINTS,
    *vehicles.ENDPOINTS,
    *second_spin.ENDPOINTS,
    *measurements.ENDPOINTS,
    *run_outs.ENDPOINTS,
    *spreads.ENDPOINTS,
    *service.ENDPOINTS,
    get_version,
    get_openapi,
)


_MAKING = Lock()


def document() -> str:
    """The OpenAPI document of all operations, as YAML; made once, however many ask for it at first."""
    with _MAKING:
        return _document()


@cache
def _document() -> str:
    return openapi.text(ENDPOINTS)
