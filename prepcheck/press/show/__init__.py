"""From ink plates to what is shown: print conditions, profiles, ink map."""
