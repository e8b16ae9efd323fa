"""The addresses of the site; each room brings its own."""

urlpatterns = []
