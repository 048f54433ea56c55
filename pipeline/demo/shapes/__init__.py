"""The five shapes in which the invented clinics keep their logs: one file a shape."""
