from django.db import migrations

from bookings.compute.search_words import contact_words, person_words


def fill(apps, schema_editor):
    """Names were kept as they are written until now: parts after a hyphen or an apostrophe could not be found."""
    for contact in apps.get_model("bookings", "Contact").objects.exclude(searched="").iterator():
        contact.searched = contact_words(contact.name, contact.email, contact.phone)
        contact.save(update_fields=["searched"])
    for person in apps.get_model("bookings", "Person").objects.exclude(folded="").iterator():
        person.folded = person_words(person.name)
        person.save(update_fields=["folded"])


class Migration(migrations.Migration):
    dependencies = [("bookings", "0045_access_answered")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
