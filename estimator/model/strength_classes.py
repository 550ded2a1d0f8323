"""Strength classes of EN 338 as values that the allowable-stress method of the rows can take.

This is no design to EN 1995-1-1: loads have no factors of their own, all count as long-term ones,
and a licensed engineer or the local rule decides. A value for the method is

    characteristic value x k_mod / gamma_M / gamma_Q

with k_mod of long-term load and gamma_Q on the wood in place of the loads. Bending is lowered by
k_sys over the repetitive member factor, which the method puts on joists; shear has k_cr, bearing
k_c,90 and what a contact of 150 mm at an end is lengthened by. Sizes below 150 mm get no k_h. Stiffness is the mean modulus.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator import reference

CLASSES: Final = ("C16", "C18", "C24", "C30")


@dataclass(frozen=True, slots=True)
class ClassValues:
    """Values of a class for the method, MPa, and the shares that are left when it is wet."""

    bending_mpa: float
    shear_mpa: float
    bearing_mpa: float
    modulus_mpa: float
    wet_strength: float
    wet_modulus: float


def class_values(name: str) -> ClassValues:
    """Values of a strength class (EN 338:2016 Table 1) for the allowable-stress method.

    Wet is service class 3; for stiffness, which EN 1995-1-1 lowers by creep alone, the method's
    own wet-service factor.

    Raises:
        InputError: If there is no such class.
    """
    bending, shear, bearing, modulus = (
        reference.value("strength_classes", strength_class=name, property=which)
        for which in ("bending", "shear", "bearing", "modulus")
    )
    allowed = _factor("k_mod_long") / _factor("gamma_m") / _factor("gamma_q")
    repetitive = reference.value("adjustment_factors", factor="repetitive_member")
    wet_modulus = reference.value(
        "adjustment_factors", factor="wet_service", condition="2-4 thick", property="modulus"
    )
    return ClassValues(
        bending_mpa=bending * allowed * _factor("k_sys") / repetitive,
        shear_mpa=shear * allowed * _factor("k_cr"),
        bearing_mpa=bearing * allowed * _factor("k_c90") * _factor("contact"),
        modulus_mpa=modulus,
        wet_strength=_factor("k_mod_long_wet") / _factor("k_mod_long"),
        wet_modulus=wet_modulus,
    )


def _factor(name: str) -> float:
    return reference.value("strength_classes", strength_class="any", property=name)
