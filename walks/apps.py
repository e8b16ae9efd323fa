from django.apps import AppConfig


class WalksConfig(AppConfig):
    name = "walks"
    verbose_name = "Walks: where and when"
