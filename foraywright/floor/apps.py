from django.apps import AppConfig
from django.db.models.signals import post_migrate


class FloorConfig(AppConfig):
    name = "foraywright.floor"
    label = "floor"
    verbose_name = "The floor under the rooms"

    def ready(self) -> None:
        from allauth.mfa.signals import authenticator_added, authenticator_removed

        from foraywright.floor import checks  # noqa: F401  (registers the system checks)
        from foraywright.floor.roles import ensure_roles
        from foraywright.floor.second_factor import note_added, note_removed

        authenticator_added.connect(note_added, dispatch_uid="floor.second_factor.added")
        authenticator_removed.connect(note_removed, dispatch_uid="floor.second_factor.removed")
        post_migrate.connect(ensure_roles, sender=self, dispatch_uid="floor.roles")
