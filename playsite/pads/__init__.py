"""Where the play area fits: buildable land and its ledger, the search, the exact check."""
