import django.db.models.deletion
from django.db import migrations, models

import foraywright.floor.ids
import foraywright.floor.sealed
from foraywright.floor.triggers import refuse


class Migration(migrations.Migration):
    dependencies = [("floor", "0009_quote_links")]

    operations = [
        migrations.AlterField(
            model_name="auditline",
            name="reason",
            field=models.CharField(blank=True, help_text="Written by us, or said to everybody", max_length=500),
        ),
        migrations.CreateModel(
            name="ActWords",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "public_id",
                    models.CharField(
                        default=foraywright.floor.ids.new_public_id, editable=False, max_length=20, unique=True
                    ),
                ),
                ("said", foraywright.floor.sealed.SealedField(null=True)),
                (
                    "line",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="words", to="floor.auditline"
                    ),
                ),
            ],
        ),
        refuse("floor_actwords", "DELETE", "That somebody wrote why is never deleted; what they wrote is emptied."),
    ]
