"""What commands return: frozen results that terminal, JSON and Markdown are views of."""
