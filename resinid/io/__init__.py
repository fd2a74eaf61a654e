"""What people write in, canonical values out: readings, units, liquids, documents."""
