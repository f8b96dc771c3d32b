"""The shape of a reference document: rounding, writing, and comparing two of them."""

import json
import math


def rounded(value, decimals):
    """The value to so many decimals, never minus zero."""
    return round(float(value), decimals) + 0.0


def text_of(document):
    """JSON with one line for every entry of a list, so that changes read well."""
    return "{\n" + ",\n".join(f"  {json.dumps(key)}: {_value(value)}" for key, value in document.items()) + "\n}\n"


def _value(value):
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return "[\n" + ",\n".join("    " + _line(entry) for entry in value) + "\n  ]"
    return _line(value)


def _line(value):
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def differences(kept, made, tolerance, place="$"):
    """Where two documents differ, one sentence each; numbers may differ by the tolerance."""
    if isinstance(kept, dict) and isinstance(made, dict):
        yield from _key_differences(kept, made, place)
        for key in kept.keys() & made.keys():
            yield from differences(kept[key], made[key], tolerance, f"{place}.{key}")
    elif isinstance(kept, list) and isinstance(made, list):
        if len(kept) != len(made):
            yield f"{place}: {len(kept)} entries are kept, {len(made)} were made"
        for index, (left, right) in enumerate(zip(kept, made)):
            yield from differences(left, right, tolerance, f"{place}[{index}]")
    elif _is_number(kept) and _is_number(made):
        if not math.isclose(kept, made, rel_tol=tolerance["relative"], abs_tol=tolerance["absolute"]):
            yield f"{place}: {kept!r} is kept, {made!r} was made, {abs(kept - made):.3g} apart"
    elif kept != made or type(kept) is not type(made):
        yield f"{place}: {kept!r} is kept, {made!r} was made"


def _key_differences(kept, made, place):
    for key in kept.keys() - made.keys():
        yield f"{place}.{key}: is kept, was not made"
    for key in made.keys() - kept.keys():
        yield f"{place}.{key}: was made, is not kept"


def _is_number(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)
