import django.db.models.deletion
from django.db import migrations, models


def name_bookings(apps, schema_editor):
    """Until now each was of a card payment, which knows its booking and currency."""
    for one in apps.get_model("bookings", "Chargeback").objects.select_related("payment").iterator():
        one.booking_id, one.currency = one.payment.booking_id, one.payment.currency
        one.save(update_fields=["booking", "currency"])


class Migration(migrations.Migration):
    dependencies = [("bookings", "0039_former_contacts")]

    operations = [
        migrations.AddField(
            model_name="chargeback",
            name="booking",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="chargebacks",
                to="bookings.booking",
            ),
        ),
        migrations.AddField(
            model_name="chargeback",
            name="currency",
            field=models.CharField(default="", max_length=3),
            preserve_default=False,
        ),
        # Last: what a row waits for must not meet a change of its table on PostgreSQL.
        migrations.RunPython(name_bookings, migrations.RunPython.noop),
    ]
