"""How any answer is shown: text and HTML blocks, tables, the look of every chart."""
