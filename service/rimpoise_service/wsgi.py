"""The WSGI application, for any server: ``rimpoise_service.wsgi:app``, as the environment says."""

import os

from .api.app import create_app
from .api.ops.settings import read_settings

app = create_app(read_settings(os.environ))
