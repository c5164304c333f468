"""Action levels as dated law: tables, their versions, and the rows that apply to a site."""
