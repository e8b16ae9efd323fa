"""The WSGI entry; production sets DJANGO_SETTINGS_MODULE itself or gets the strict settings."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "foraywright.settings.production")

application = get_wsgi_application()
