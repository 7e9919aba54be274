"""For gunicorn: what the environment says (DEVELOPERS.md, Settings), and what was measured for the rest.

The numbers and their reasons stand in ``rimpoise_service.web.serving``, which ``serve`` uses too: one truth.
"""

import os

from rimpoise_service.web.serving import gunicorn_settings, prepare_metrics
from rimpoise_service.web.settings import BadSettings, read_settings

try:
    settings = read_settings(os.environ)
except BadSettings as error:
    raise SystemExit("\n".join(error.problems)) from None
prepare_metrics()
globals().update(gunicorn_settings(settings))
