from django.apps import AppConfig
from django.db.models.signals import post_migrate


class BookingsConfig(AppConfig):
    name = "bookings"
    verbose_name = "Bookings: who comes"

    def ready(self) -> None:
        from bookings.chart_of_accounts import ensure_accounts
        from bookings.ground_rules import ensure_ground_rules

        post_migrate.connect(ensure_accounts, sender=self, dispatch_uid="bookings.accounts")
        post_migrate.connect(ensure_ground_rules, sender=self, dispatch_uid="bookings.ground_rules")
