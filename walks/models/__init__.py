from walks.models.assessments import (
    AssessmentAddition,
    AssessmentDraft,
    SignedAssessment,
    WalkForecast,
    WalkStart,
    WeatherDecision,
)
from walks.models.changes import WalkChange
from walks.models.finds import Find, FindList
from walks.models.guides import Guide, GuideAbsence, GuideCertificate, MayLead
from walks.models.offerings import Offering, Walk, WalkGuide
from walks.models.plans import PlanProposal, SeasonPlan
from walks.models.site_papers import PermissionDocument, SiteRoute
from walks.models.sites import InsuranceCover, LandownersPermission, Site
from walks.models.templates import OfferingTemplate, TemplateSession
from walks.models.themes import Theme, ThemeTaxon

__all__ = [
    "AssessmentAddition",
    "AssessmentDraft",
    "Find",
    "FindList",
    "Guide",
    "GuideAbsence",
    "GuideCertificate",
    "InsuranceCover",
    "LandownersPermission",
    "MayLead",
    "Offering",
    "OfferingTemplate",
    "PermissionDocument",
    "PlanProposal",
    "SeasonPlan",
    "SignedAssessment",
    "Site",
    "SiteRoute",
    "TemplateSession",
    "Theme",
    "ThemeTaxon",
    "Walk",
    "WalkChange",
    "WalkForecast",
    "WalkGuide",
    "WalkStart",
    "WeatherDecision",
]
