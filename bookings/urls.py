"""The addresses of the room."""

from __future__ import annotations

from django.urls import path

from bookings.views import (
    attendance,
    calendar,
    changes,
    declarations,
    documents,
    office,
    on_the_day,
    participant,
    personal_data,
    public,
    recalls,
    risk,
)

urlpatterns = [
    path("walks/<slug:slug>/", public.walk_page, name="walk_page"),
    path("walks/<slug:slug>/book/", public.book, name="book"),
    path("booking/", public.find_booking, name="find_booking"),
    path("booking/sent/", public.link_on_its_way, name="link_on_its_way"),
    path("booking/<str:token>/", participant.booking_page, name="booking_page"),
    path("booking/<str:token>/walk.ics", calendar.booking_ics, name="booking_ics"),
    path("booking/<str:token>/cancel/", participant.booking_cancel, name="booking_cancel"),
    path("booking/<str:token>/recall/<slug:public_id>/", recalls.recall_acknowledge, name="recall_acknowledge"),
    path("booking/<str:token>/declarations/", declarations.booking_declarations, name="booking_declarations"),
    path("booking/<str:token>/declarations/<slug:public_id>/", declarations.booking_declare, name="booking_declare"),
    path(
        "booking/<str:token>/declarations/<slug:public_id>/link/",
        declarations.booking_own_link,
        name="booking_own_link",
    ),
    path("declare/<str:token>/", declarations.declare_by_own_link, name="declare"),
    path("declare/<str:token>/<slug:public_id>/", declarations.declare_by_own_link, name="declare_ward"),
    path(
        "staff/walks/<slug:public_id>/<int:number>/declarations/",
        declarations.staff_declarations,
        name="staff_declarations",
    ),
    path(
        "staff/walks/<slug:public_id>/<int:number>/declarations/<slug:person>/",
        declarations.staff_declaration,
        name="staff_declaration",
    ),
    path("staff/access/", declarations.staff_access_needs, name="staff_access_needs"),
    path("staff/access/<slug:public_id>/", declarations.staff_access_need, name="staff_access_need"),
    path("staff/looks/", declarations.staff_looks, name="staff_looks"),
    path("privacy/", public.privacy, name="privacy"),
    path("staff/", office.staff_today, name="staff_today"),
    path("staff/walks/", office.staff_walks, name="staff_walks"),
    path("staff/walks/<slug:public_id>/", office.staff_walk, name="staff_walk"),
    path("staff/walks/<slug:public_id>/edit/", changes.staff_offering_edit, name="staff_offering_edit"),
    path("staff/walks/<slug:public_id>/sessions/new/", changes.staff_session_new, name="staff_session_new"),
    path(
        "staff/walks/<slug:public_id>/<int:number>/change/", changes.staff_session_change, name="staff_session_change"
    ),
    path(
        "staff/walks/<slug:public_id>/<int:number>/content/",
        changes.staff_session_content,
        name="staff_session_content",
    ),
    path(
        "staff/walks/<slug:public_id>/<int:number>/remove/", changes.staff_session_remove, name="staff_session_remove"
    ),
    path("staff/walks/<slug:public_id>/<int:number>/attendance/", attendance.staff_attendance, name="staff_attendance"),
    path("staff/walks/<slug:public_id>/certificates.pdf", attendance.staff_certificates, name="staff_certificates"),
    path("booking/<str:token>/attendance.pdf", attendance.booking_attendance, name="booking_attendance"),
    path("staff/walks/<slug:public_id>/call-off/", office.staff_call_off, name="staff_call_off"),
    path("staff/recalls/", recalls.staff_recalls, name="staff_recalls"),
    path("staff/recalls/<int:key>/", recalls.staff_recall, name="staff_recall"),
    path("staff/recalls/<slug:public_id>/settle/", recalls.staff_settle, name="staff_settle"),
    path("staff/bookings/<slug:code>/", office.staff_booking, name="staff_booking"),
    path("staff/bookings/<slug:code>/cancel/", office.staff_cancel, name="staff_cancel"),
    path("staff/bookings/<slug:code>/data/", personal_data.staff_personal_data, name="staff_personal_data"),
    path("staff/bookings/<slug:code>/data/export/", personal_data.staff_export, name="staff_export_data"),
    path("staff/bookings/<slug:code>/data/erase/", personal_data.staff_erase, name="staff_erase"),
    path("booking/<str:token>/handout.pdf", documents.booking_handout, name="booking_handout"),
    path("staff/walks/<slug:public_id>/<int:number>/register.pdf", documents.staff_register, name="staff_register"),
    path("staff/risk-matrix/", risk.staff_risk_matrix, name="staff_risk_matrix"),
    path("staff/walks/<slug:public_id>/<int:number>/assessment/", risk.staff_assessment, name="staff_assessment"),
    path("staff/walks/<slug:public_id>/<int:number>/assessment/<slug:key>/", risk.staff_hazard, name="staff_hazard"),
    path(
        "staff/walks/<slug:public_id>/<int:number>/risk-assessment.pdf",
        risk.staff_risk_assessment,
        name="staff_risk_assessment",
    ),
    path("staff/walks/<slug:public_id>/<int:number>/check-sheet.pdf", risk.staff_day_check, name="staff_day_check"),
    path("staff/walks/<slug:public_id>/<int:number>/day/", on_the_day.staff_on_the_day, name="staff_on_the_day"),
    path("staff/walks/<slug:public_id>/<int:number>/day/start/", on_the_day.staff_start, name="staff_start"),
    path("staff/walks/<slug:public_id>/<int:number>/weather/", on_the_day.staff_weather, name="staff_weather"),
]
