"""The addresses of the room."""

from __future__ import annotations

from django.urls import path

from walks.views import courses, documents, feeds, guide, guides, keys, plans, public, sites, templates

urlpatterns = [
    path("", public.programme_page, name="programme"),
    path("courses/", public.courses, name="courses"),
    path("species/<slug:slug>/", public.species_page, name="species_page"),
    path("species/<slug:slug>/sheet.pdf", documents.species_sheet, name="species_sheet"),
    path("calendar/", feeds.calendar_page, name="calendar_page"),
    path("calendar/walks.ics", feeds.walks_feed, name="walks_feed"),
    path("walks/<slug:slug>/walk.ics", feeds.walk_ics, name="walk_ics"),
    path("staff/season-plans/", plans.staff_plans, name="staff_plans"),
    path("staff/season-plans/<slug:public_id>/", plans.staff_plan, name="staff_plan"),
    path("staff/season-plans/<slug:public_id>/again/", plans.staff_plan_again, name="staff_plan_again"),
    path("staff/season-plans/<slug:public_id>/proposals/<slug:proposal>/", plans.staff_proposal, name="staff_proposal"),
    path("staff/walks/new/", guide.staff_schedule, name="staff_schedule"),
    path("staff/templates/", templates.staff_templates, name="staff_templates"),
    path("staff/templates/<slug:public_id>/", templates.staff_template, name="staff_template"),
    path("staff/templates/<slug:public_id>/remove/", templates.staff_template_remove, name="staff_template_remove"),
    path("staff/walks/<slug:public_id>/template/", templates.staff_template_new, name="staff_template_new"),
    path("staff/courses/new/", courses.staff_course_new, name="staff_course_new"),
    path("staff/walks/<slug:public_id>/publish/", guide.staff_publish, name="staff_publish"),
    path("staff/guides/", guides.staff_guides, name="staff_guides"),
    path("staff/guides/new/", guides.staff_guide_new, name="staff_guide_new"),
    path("staff/guides/<slug:public_id>/", guides.staff_guide, name="staff_guide"),
    path("staff/guides/<slug:public_id>/edit/", guides.staff_guide_edit, name="staff_guide_edit"),
    path("staff/guides/<slug:public_id>/certificates/new/", guides.staff_certificate, name="staff_certificate_new"),
    path("staff/guides/<slug:public_id>/certificates/<int:key>/", guides.staff_certificate, name="staff_certificate"),
    path(
        "staff/guides/<slug:public_id>/certificates/<int:key>/remove/",
        guides.staff_certificate_remove,
        name="staff_certificate_remove",
    ),
    path(
        "staff/guides/<slug:public_id>/absences/<int:key>/remove/",
        guides.staff_absence_remove,
        name="staff_absence_remove",
    ),
    path("staff/sites/", sites.staff_sites, name="staff_sites"),
    path("staff/sites/new/", sites.staff_site_new, name="staff_site_new"),
    path("staff/sites/<slug:public_id>/", sites.staff_site, name="staff_site"),
    path("staff/sites/<slug:public_id>/edit/", sites.staff_site_edit, name="staff_site_edit"),
    path("staff/sites/<slug:public_id>/permissions/new/", sites.staff_permission_new, name="staff_permission_new"),
    path("staff/sites/<slug:public_id>/route/", sites.staff_site_route, name="staff_site_route"),
    path("staff/sites/<slug:public_id>/route/end/", sites.staff_site_route_end, name="staff_site_route_end"),
    path("staff/sites/<slug:public_id>/route.gpx", sites.staff_site_gpx, name="staff_site_gpx"),
    path("staff/permissions/<slug:public_id>/", sites.staff_permission, name="staff_permission"),
    path("staff/permissions/<slug:public_id>/attach/", sites.staff_permission_attach, name="staff_permission_attach"),
    path("staff/documents/<slug:public_id>/", sites.staff_document, name="staff_document"),
    path("staff/documents/<slug:public_id>/remove/", sites.staff_document_remove, name="staff_document_remove"),
    path("staff/cover/", sites.staff_covers, name="staff_covers"),
    path("staff/cover/new/", sites.staff_cover_new, name="staff_cover_new"),
    path("staff/cover/<slug:public_id>/", sites.staff_cover, name="staff_cover"),
    path("walks/<slug:slug>/key/", keys.walk_key, name="walk_key"),
    path("walks/<slug:slug>/key/<slug:group>/", keys.walk_key_step, name="walk_key_step"),
    path("walks/<slug:slug>/handout.pdf", documents.walk_handout, name="walk_handout"),
    path("staff/walks/<slug:public_id>/<int:number>/handout.pdf", documents.staff_handout, name="staff_handout"),
]
