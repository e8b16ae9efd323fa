from curriculum.models.accounts import AccountVersion, Citation, FactGroup, SignOff, Source, Withdrawal
from curriculum.models.documents import Document, DocumentContent
from curriculum.models.invitations import ReviewInvitation
from curriculum.models.taxa import Taxon, TaxonName
from curriculum.models.vocabulary import VocabularyWord

__all__ = [
    "AccountVersion",
    "Citation",
    "Document",
    "DocumentContent",
    "FactGroup",
    "ReviewInvitation",
    "SignOff",
    "Source",
    "Taxon",
    "TaxonName",
    "VocabularyWord",
    "Withdrawal",
]
