"""The WSGI application, for any server: ``rimpoise_service.wsgi:app``."""

from .web.app import create_app

app = create_app()
