"""The addresses of the room."""

from __future__ import annotations

from django.urls import path

from walks.views import guide, public

urlpatterns = [
    path("", public.programme_page, name="programme"),
    path("courses/", public.courses, name="courses"),
    path("species/<slug:slug>/", public.species_page, name="species_page"),
    path("staff/walks/new/", guide.staff_schedule, name="staff_schedule"),
    path("staff/walks/<slug:public_id>/publish/", guide.staff_publish, name="staff_publish"),
]
