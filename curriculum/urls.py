"""The addresses of the room."""

from __future__ import annotations

from django.urls import path

from curriculum.views import public, reviewer

urlpatterns = [
    path("species/", public.species_list, name="species_list"),
    path("cautions/", public.cautions, name="cautions"),
    path("staff/curriculum/", reviewer.staff_curriculum, name="staff_curriculum"),
    path("staff/curriculum/<slug:key>/", reviewer.staff_account, name="staff_account"),
]
