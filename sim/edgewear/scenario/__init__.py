"""Scenario files: reading them with positions, units, the built-in library, frozen models in SI."""

from __future__ import annotations
