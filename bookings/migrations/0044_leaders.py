from django.db import migrations, models


def name_leaders(apps, schema_editor):
    """Until now a leader was known by the children in their charge alone."""
    people = apps.get_model("bookings", "Person").objects
    groups = apps.get_model("bookings", "GroupQuote").objects.exclude(booking=None).values("booking__party")
    in_charge = people.exclude(guardian=None).values("guardian")
    people.filter(party__in=groups, pk__in=in_charge).update(is_leader=True)


class Migration(migrations.Migration):
    dependencies = [("bookings", "0043_voucher_by_card")]

    operations = [
        migrations.AddField(
            model_name="person",
            name="is_leader",
            field=models.BooleanField(
                default=False, help_text="An adult of a school or club who leads its group, and pays nothing"
            ),
        ),
        # Last: what a row waits for must not meet a change of its table on PostgreSQL.
        migrations.RunPython(name_leaders, migrations.RunPython.noop),
    ]
