"""The mark-out sheet: drawn once in millimetres, printed as SVG or as pages of PDF."""
