from django.db import migrations

from foraywright.floor.triggers import append_only


class Migration(migrations.Migration):
    dependencies = [("bookings", "0001_initial")]

    operations = [*append_only("bookings_transfer", "Ledger transfers")]
