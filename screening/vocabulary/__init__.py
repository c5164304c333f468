"""The trade's words - substances, units, terms, flags, headings - kept as cited data beside their readers."""
