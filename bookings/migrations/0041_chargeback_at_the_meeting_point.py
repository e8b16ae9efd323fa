import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("bookings", "0040_chargeback_of_a_booking")]

    operations = [
        migrations.AlterField(
            model_name="chargeback",
            name="booking",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="chargebacks", to="bookings.booking"
            ),
        ),
        migrations.AlterField(
            model_name="chargeback",
            name="payment",
            field=models.ForeignKey(
                blank=True,
                help_text="The payment on the provider's page; empty: the card was taken at the meeting point",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="chargebacks",
                to="bookings.cardpayment",
            ),
        ),
        migrations.AddConstraint(
            model_name="chargeback",
            constraint=models.CheckConstraint(
                condition=models.Q(("payment__isnull", False), ("provider_key", ""), _connector="OR"),
                name="no_notice_of_the_meeting_point",
            ),
        ),
    ]
