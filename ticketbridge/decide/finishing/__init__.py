"""PURE: the formulas of finishing: where eyelets go, what a pocket needs."""
