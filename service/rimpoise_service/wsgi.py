"""The WSGI application, for any server: ``rimpoise_service.wsgi:app``, as the environment says.

What is imported stays, so Python doesn't look for garbage meanwhile, nor in it later: a tenth of a start.
"""

import gc
import os

gc.disable()

from .api.app import create_app  # noqa: E402
from .api.ops.settings import BadSettings, read_settings  # noqa: E402

try:
    app = create_app(read_settings(os.environ))
except BadSettings as error:
    raise SystemExit("\n".join(error.problems)) from None
gc.freeze()
gc.enable()
