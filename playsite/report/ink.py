"""Inks on paper, by the same names as on the screen, and fonts."""

__all__ = ["INK", "SANS", "SERIF"]

SERIF, SANS = "Palatino Linotype", "Segoe UI"
"""Fonts of the memo. No font travels with the file: each machine has these or equals of them."""

INK = {
    "sheet": "#FFFFFF",
    "margin": "#F2F3EE",
    "ink": "#1B2530",
    "ink-2": "#2E3841",
    "ink-3": "#434D56",
    "rule": "#B9BDB6",
    "land": "#F6F6F2",
    "lot": "#D9DAD0",
    "street": "#FFFFFF",
    "street-edge": "#C3C5BB",
    "street-text": "#565D62",
    "building": "#D8D3C7",
    "building-edge": "#B8B1A2",
    "water": "#C6DBE4",
    "water-edge": "#4F7F99",
    "water-text": "#285A75",
    "woods": "#D0DCC4",
    "woods-mark": "#93AB81",
    "park-text": "#3F5C31",
    "contour": "#C2A57E",
    "contour-text": "#7A5A2C",
    "score-1": "#EDCBDC",
    "score-2": "#D38FB3",
    "score-3": "#B2548A",
    "score-4": "#833262",
    "score-5": "#541A3D",
    "overprint": "#833262",
    "overprint-deep": "#541A3D",
    "overprint-wash": "#F6EAF0",
    "out-hatch": "#7E8790",
    "unknown-dot": "#747D86",
    "low-2": "#4C8FAE",
    "low-3": "#17567A",
    "route-walk": "#2F6B3C",
    "route-wheel": "#1D5BA6",
    "route-truck": "#3D3626",
    "route-dash": "#C03F10",
    "cut": "#A8541A",
    "cut-wash": "#F6E4D6",
    "fill": "#2B6A86",
    "fill-wash": "#D9E8EF",
    "caution": "#7A4B00",
    "caution-wash": "#FBF1D9",
    "caution-edge": "#B98721",
}
"""Tokens of the look, those of print where print has its own."""
