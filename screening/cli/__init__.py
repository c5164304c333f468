"""The command line: parses words, calls one function, hands the answer to the outputs."""
