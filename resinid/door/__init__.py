"""The door: what people write in, canonical values out."""
