"""What is shown: pictures, tables, worked examples, derivations as text."""
