"""Differential scanning calorimetry: melting peak, heat of fusion, glass transition."""
