"""Paper: PDF at true size, the plate as SVG, hole lists as CSV. The PDF library stays in here."""
