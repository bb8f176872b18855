"""The web door: pages and JSON over the tasks."""
