"""Development, speed, torque and pedal force, worked by hand; the arithmetic is kept as text and proved with fractions."""

from fractions import Fraction
import math

# chainring, sprocket, circumference mm, cadence rpm, development m (worked), speed km/h (worked), the arithmetic
GEARS = [
    (50, 24, 2136, 55, "4.45", "14.685", "50/24 = 2.083333; 2.083333 x 2.136 m = 4.45 m; 4.45 m x 55/min = 244.75 m/min; x 60/1000 = 14.685 km/h"),
    (34, 30, 2136, 55, "2.4208", "7.98864", "34 x 2.136 = 72.624; 72.624/30 = 2.4208 m; x 55 = 133.144 m/min; x 0.06 = 7.98864 km/h"),
    (50, 11, 2136, 90, "9.709091", "52.429091", "50 x 2.136 = 106.8; 106.8/11 = 9.709091 m; x 90 = 873.81818 m/min; x 0.06 = 52.429091 km/h"),
    (50, 30, 2136, 60, "3.56", "12.816", "106.8/30 = 3.56 m; x 60 = 213.6 m/min; x 0.06 = 12.816 km/h"),
    (50, 21, 2136, 50, "5.085714", "15.257143", "106.8/21 = 5.085714 m; x 50 = 254.28571 m/min; x 0.06 = 15.257143 km/h"),
    (34, 17, 2136, 60, "4.272", "15.3792", "34/17 = 2; 2 x 2.136 = 4.272 m; x 60 = 256.32 m/min; x 0.06 = 15.3792 km/h"),
    (34, 11, 2136, 55, "6.602182", "21.7872", "72.624/11 = 6.602182 m; x 55 = 72.624 x 5 = 363.12 m/min; x 0.06 = 21.7872 km/h"),
    (52, 13, 2105, 100, "8.42", "50.52", "52/13 = 4; 4 x 2.105 = 8.42 m; x 100 = 842 m/min; x 0.06 = 50.52 km/h"),
    (40, 40, 2200, 60, "2.2", "7.92", "40/40 = 1; 2.2 m; x 60 = 132 m/min; x 0.06 = 7.92 km/h"),
    (32, 51, 2300, 70, "1.443137", "6.061176", "32 x 2.3 = 73.6; 73.6/51 = 1.443137 m; x 70 = 101.01961 m/min; x 0.06 = 6.061176 km/h"),
]

# power W, cadence rpm, crank mm, torque N m (worked), pedal force N (worked), the arithmetic
PEDALS = [
    (250, 55, 172.5, "43.4059", "251.628", "55 x 2 pi / 60 = 5.759587 rad/s; 250/5.759587 = 43.4059 N m; 43.4059/0.1725 = 251.628 N"),
    (207, 55, 172.5, "35.9401", "208.348", "207/5.759587 = 35.9401 N m; /0.1725 = 208.348 N"),
    (225, 50, 172.5, "42.9718", "249.112", "50 x 2 pi / 60 = 5.235988 rad/s; 225/5.235988 = 42.9718 N m; /0.1725 = 249.112 N"),
    (190, 60, 170.0, "30.2394", "177.879", "60 x 2 pi / 60 = 6.283185 rad/s; 190/6.283185 = 30.2394 N m; /0.17 = 177.879 N"),
    (300, 90, 175.0, "31.8310", "181.891", "90 x 2 pi / 60 = 9.424778 rad/s; 300/9.424778 = 31.8310 N m; /0.175 = 181.891 N"),
    (220, 40, 165.0, "52.5211", "318.310", "40 x 2 pi / 60 = 4.188790 rad/s; 220/4.188790 = 52.5211 N m; /0.165 = 318.310 N"),
]


def document():
    return {
        "source": "Definitions: development is the way of one turn of the cranks, teeth of the chainring / teeth of the sprocket x circumference; "
                  "torque is power / angular speed; mean tangential force is torque / crank length.",
        "how": "Worked by hand to the digits shown, and proved here with exact fractions. power_w is at the crank.",
        "remade_within": {"absolute": 0.0, "relative": 0.0},
        "gears": [gear(*case) for case in GEARS],
        "pedals": [pedal(*case) for case in PEDALS],
    }


def gear(chainring, sprocket, circumference_mm, cadence_rpm, development_m, speed_kmh, worked):
    exact_m = Fraction(chainring, sprocket) * Fraction(circumference_mm, 1000)
    assert_rounds_to(exact_m, development_m)
    assert_rounds_to(exact_m * cadence_rpm * 60 / 1000, speed_kmh)
    return {
        "chainring": chainring, "sprocket": sprocket, "circumference_mm": circumference_mm, "cadence_rpm": cadence_rpm,
        "development_m": float(development_m), "speed_kmh": float(speed_kmh), "worked": worked,
    }


def pedal(power_w, cadence_rpm, crank_mm, torque_nm, pedal_force_n, worked):
    exact_nm = power_w / (cadence_rpm * 2 * math.pi / 60)
    assert_rounds_to(exact_nm, torque_nm)
    assert_rounds_to(exact_nm / crank_mm * 1000, pedal_force_n)
    return {
        "power_w": power_w, "cadence_rpm": cadence_rpm, "crank_mm": crank_mm, "torque_nm": float(torque_nm),
        "pedal_force_n": float(pedal_force_n), "worked": worked,
    }


def assert_rounds_to(exact, worked):
    half_digit = Fraction(1, 2 * 10 ** len(worked.partition(".")[2]))
    assert abs(Fraction(exact) - Fraction(worked)) <= half_digit, (float(exact), worked)
