from foraywright.floor.models.audit import ActWords, AuditLine
from foraywright.floor.models.business import Business
from foraywright.floor.models.counter import Counter, FeedRevision
from foraywright.floor.models.links import LinkSecret
from foraywright.floor.models.policy import PolicyVersion
from foraywright.floor.models.slugs import Slug
from foraywright.floor.models.user import User

__all__ = [
    "ActWords",
    "AuditLine",
    "Business",
    "Counter",
    "FeedRevision",
    "LinkSecret",
    "PolicyVersion",
    "Slug",
    "User",
]
