"""The posterior beside two libraries for exact inference, on a net built from the prepared model."""
