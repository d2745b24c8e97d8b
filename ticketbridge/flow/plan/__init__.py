"""The order that waiting jobs go in, and what finished ones teach the estimates."""
