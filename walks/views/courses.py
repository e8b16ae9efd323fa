"""Pages on which courses are planned."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from foraywright.floor.door import names_act
from walks.errors import WalkNotScheduled
from walks.services.schedule_walk import schedule_walk
from walks.session_forms import CourseForms
from walks.views.guide import staff


@names_act("walk.schedule")
@require_http_methods(["GET", "HEAD", "POST"])
def staff_course_new(request: HttpRequest) -> HttpResponse:
    """A course with its sessions; buttons add and take away sessions and keep what was typed."""
    if request.method != "POST":
        return _page(request, CourseForms())
    if {"add", "drop"} & request.POST.keys():
        return _page(request, CourseForms.after_a_button(request.POST))
    course = CourseForms(request.POST)
    if course.whole:
        try:
            offering = schedule_walk(course.plan(), by=staff(request), now=timezone.now())
        except WalkNotScheduled as refused:
            course.show(refused)
        else:
            messages.success(request, "The course is a draft. Say next what each session covers.")
            return redirect("staff_walk", offering.public_id)
    return _page(request, course)


def _page(request: HttpRequest, course: CourseForms) -> HttpResponse:
    status = 422 if course.has_errors else 200
    return render(request, "walks/staff_course.html", {"course": course}, status=status)
