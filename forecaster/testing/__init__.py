"""Suites that third parties run over their own sources and renderers."""
