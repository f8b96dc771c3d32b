"""Tyre circumferences as commonly printed, beside the formula from the ISO 5775 designation."""

import math

from document import rounded

# Width mm, diameter of the bead seat mm, printed circumference mm. From memory, only rows that are surely remembered.
PRINTED = [
    (18, 622, 2070), (19, 622, 2080), (20, 622, 2086), (23, 622, 2096), (25, 622, 2105), (28, 622, 2136), (30, 622, 2146),
    (32, 622, 2155), (35, 622, 2168), (38, 622, 2180), (40, 622, 2200), (42, 622, 2224), (44, 622, 2235), (45, 622, 2242),
    (47, 622, 2268), (54, 622, 2288), (56, 622, 2298), (60, 622, 2326),
    (28, 630, 2155), (32, 630, 2161),
    (25, 571, 1952), (50, 584, 2090), (54, 584, 2148), (57, 584, 2182),
    (25, 559, 1913), (32, 559, 1950), (40, 559, 2010), (47, 559, 2023), (50, 559, 2050), (54, 559, 2068), (57, 559, 2070),
    (32, 406, 1450), (40, 406, 1490), (47, 406, 1515), (50, 406, 1565),
]


def document():
    return {
        "source": "From memory: the table of tyre sizes that is commonly printed in the manuals of cycle computers, for setting the wheel's circumference. "
                  "It is no standard; its rows were partly measured with a rider on, partly reckoned, and tables differ for wide tyres. "
                  "Sizes are ISO 5775-1 designations, width-diameter in mm.",
        "how": "formula_mm = pi (diameter + 2 width), the tyre as high as it is wide; deviation_pct = 100 (formula / printed - 1). "
               "within_1_pct says where the formula holds to 1 %; it does for the road sizes (622 mm up to 60 mm wide), not for most wide 559 and 584 mm sizes, nor for 406 mm.",
        "remade_within": {"absolute": 1e-9, "relative": 0.0},
        "tyres": [tyre(*row) for row in PRINTED],
    }


def tyre(width_mm, diameter_mm, printed_mm):
    formula_mm = math.pi * (diameter_mm + 2 * width_mm)
    deviation_pct = 100 * (formula_mm / printed_mm - 1)
    return {
        "tyre": f"{width_mm}-{diameter_mm}", "width_mm": width_mm, "diameter_mm": diameter_mm, "printed_circumference_mm": printed_mm,
        "formula_mm": rounded(formula_mm, 1), "deviation_pct": rounded(deviation_pct, 2), "within_1_pct": abs(deviation_pct) <= 1.0,
    }
