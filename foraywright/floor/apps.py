from django.apps import AppConfig
from django.db.models.signals import post_migrate


class FloorConfig(AppConfig):
    name = "foraywright.floor"
    label = "floor"
    verbose_name = "The floor under the rooms"

    def ready(self) -> None:
        from foraywright.floor import checks  # noqa: F401  (registers the system checks)
        from foraywright.floor.roles import ensure_roles

        post_migrate.connect(ensure_roles, sender=self, dispatch_uid="floor.roles")
