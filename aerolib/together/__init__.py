"""Prediction beside measurement."""
