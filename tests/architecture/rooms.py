"""The rooms of the house, by name."""

#: What is pure: no I/O, no clock, no environment.
CORE = ("model", "knowledge", "facts", "assessments", "medicines", "handover", "review")
