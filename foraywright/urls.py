"""The addresses of the site; each room brings its own."""

from django.urls import include, path

from foraywright.floor.views import robots

urlpatterns = [
    path("", include("curriculum.urls")),
    path("", include("walks.urls")),
    path("", include("bookings.urls")),
    path("accounts/", include("allauth.urls")),
    path("robots.txt", robots, name="robots"),
]
