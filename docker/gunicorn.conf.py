"""For gunicorn: what the environment says (DEVELOPERS.md, Settings), and what was measured for the rest.

The numbers and their reasons stand in ``rimpoise_service.gunicorn_app``, which ``serve`` uses too: one truth.
"""

from rimpoise_service.api.ops.settings import BadSettings
from rimpoise_service.gunicorn_app import from_environment

try:
    globals().update(from_environment())
except BadSettings as error:
    raise SystemExit("\n".join(error.problems)) from None
