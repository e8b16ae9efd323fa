from walks.models.guides import Guide, GuideCertificate
from walks.models.offerings import Offering, Walk, WalkGuide
from walks.models.sites import InsuranceCover, LandownersPermission, Site
from walks.models.themes import Theme, ThemeTaxon

__all__ = [
    "Guide",
    "GuideCertificate",
    "InsuranceCover",
    "LandownersPermission",
    "Offering",
    "Site",
    "Theme",
    "ThemeTaxon",
    "Walk",
    "WalkGuide",
]
