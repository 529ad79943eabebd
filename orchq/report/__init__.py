"""Findings, answers and the catalogue of rules, written for people and for programs."""
