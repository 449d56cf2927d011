"""Rates from gauges: how fast an amount falls, by readings of it alone. Arrays in, values out."""
