"""Who may do what, and how a browser is kept from doing it unasked: access, sessions, tokens, headers, limits."""
