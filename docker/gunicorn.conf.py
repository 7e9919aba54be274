"""For gunicorn: what the environment says (DEVELOPERS.md, Settings), and what was measured for the rest.

The numbers and their reasons stand in ``rimpoise_service.gunicorn_app``, which ``serve`` uses too: one truth.
"""

import os

from rimpoise_service.api.ops.settings import BadSettings, read_settings
from rimpoise_service.gunicorn_app import gunicorn_settings

try:
    settings = read_settings(os.environ)
except BadSettings as error:
    raise SystemExit("\n".join(error.problems)) from None
globals().update(gunicorn_settings(settings))
