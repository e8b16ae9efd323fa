import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


def name_lines(apps, schema_editor):
    """Payouts were found by the line's public id, which was their key."""
    payouts, lines = apps.get_model("bookings", "CardPayout"), apps.get_model("bookings", "BankLine")
    for line in lines.objects.filter(state="from_cards").iterator():
        payouts.objects.filter(key=line.public_id).update(line=line)


class Migration(migrations.Migration):

    dependencies = [
        ('bookings', '0036_rate_of_tax'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='cardpayment',
            name='fee_payout',
            field=models.ForeignKey(blank=True, help_text='The payout of whose fee this is the share; empty where the provider said the fee of this payment', null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='bookings.cardpayout'),
        ),
        migrations.AddField(
            model_name='cardpayout',
            name='line',
            field=models.ForeignKey(blank=True, help_text="The line of the bank's statement that says it; empty: noted by hand", null=True, on_delete=django.db.models.deletion.PROTECT, related_name='payouts', to='bookings.bankline'),
        ),
        migrations.AddField(
            model_name='cardpayout',
            name='taken_back_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='cardpayout',
            name='taken_back_for',
            field=models.CharField(blank=True, help_text='Why it was noted by mistake', max_length=120),
        ),
        migrations.AlterField(
            model_name='chargeback',
            name='state',
            field=models.CharField(choices=[('waiting', 'Waits for a person'), ('owed', 'Owed again'), ('written_off', 'Written off'), ('given_back', 'Given back by the provider'), ('mistake', 'Noted by mistake')], default='waiting', max_length=12),
        ),
        migrations.AlterField(
            model_name='transfer',
            name='kind',
            field=models.CharField(choices=[('sale', 'Places sold'), ('payment', 'Payment received'), ('cancellation', 'Sale taken back'), ('credit', 'Credit put to use'), ('refund', 'Refund paid'), ('tax', 'Tax owed'), ('earned', 'Walk held'), ('found', 'Found out whose it is'), ('reversal', 'Taken back by the bank'), ('payout', 'Passed on by the card provider'), ('write_off', 'Written off'), ('chargeback', 'Taken back by the card holder'), ('given_back', 'Given back by the card provider'), ('fee', 'Fee of the card provider'), ('mistake', 'Noted by mistake')], max_length=14),
        ),
        migrations.AddConstraint(
            model_name='cardpayout',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('taken_back_at', None), ('taken_back_for', '')), models.Q(('taken_back_at__isnull', False), models.Q(('taken_back_for', ''), _negated=True)), _connector='OR'), name='payout_taken_back_for_a_reason'),
        ),
        migrations.AddConstraint(
            model_name='chargeback',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('state', 'mistake'), _negated=True), models.Q(('provider_key', ''), ('settled_by__isnull', False), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='a_mistake_of_somebody_for_a_reason'),
        ),
        # Last: what a row waits for must not meet a change of its table on PostgreSQL.
        migrations.RunPython(name_lines, migrations.RunPython.noop),
    ]
