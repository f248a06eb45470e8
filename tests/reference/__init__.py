"""Second opinions: slow, obvious implementations that the tests hold the real ones against."""
