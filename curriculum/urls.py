"""The addresses of the room."""

from __future__ import annotations

from django.urls import path

from curriculum.views import audit, exports, invited, public, reviewer

urlpatterns = [
    path("species/", public.species_list, name="species_list"),
    path("sheet/<slug:public_id>/", public.sheet_state, name="sheet_state"),
    path("cautions/", public.cautions, name="cautions"),
    path("staff/curriculum/", reviewer.staff_curriculum, name="staff_curriculum"),
    path("staff/curriculum/export/<slug:form>.zip", exports.staff_export, name="staff_export"),
    path("staff/curriculum/audit/", audit.staff_audit, name="staff_audit"),
    path("staff/curriculum/audit/<slug:this>/<slug:other>/", audit.staff_pair, name="staff_pair"),
    path("staff/curriculum/<slug:key>/withdraw/", reviewer.staff_withdraw, name="staff_withdraw"),
    path("staff/curriculum/<slug:key>/invite/", invited.staff_invite, name="staff_invite"),
    path("review/<str:token>/", invited.review_by_link, name="review_by_link"),
    path("staff/curriculum/<slug:key>/revise/", reviewer.staff_revise, name="staff_revise"),
    path("staff/curriculum/<slug:key>/account.toml", reviewer.staff_account_file, name="staff_account_file"),
]
