"""Staff accounts. A staff account is not a person who attends, and its e-mail address is not its key."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from foraywright.floor.ids import new_public_id


class User(AbstractUser):
    """Somebody who signs in: office, guide or reviewer. Roles are groups."""

    public_id = models.CharField(max_length=20, unique=True, default=new_public_id, editable=False)
    email = models.EmailField(blank=True)

    def __str__(self) -> str:
        return self.get_full_name() or self.username
