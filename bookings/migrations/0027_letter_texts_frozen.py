from django.db import migrations

from foraywright.floor.triggers import append_only


class Migration(migrations.Migration):

    dependencies = [
        ("bookings", "0026_tax_of_a_line"),
    ]

    operations = append_only("bookings_lettertext", "Versions of the words of letters")
