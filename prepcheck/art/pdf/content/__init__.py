"""Follows the content of PDF pages: what is placed where, and what plates need."""
