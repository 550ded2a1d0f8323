"""Worked examples of wood design from university courses, reproduced to the printed digits.

All were read in copies of the course pages.
"""

from __future__ import annotations

import pytest
import wood_referee

from estimator.reference import design_values, dressed_size
from estimator.solve import design


def test_a_wet_douglas_fir_2x8_under_snow_has_the_printed_strength() -> None:
    """Purdue University, CE 479 wood design example (2006): No.1, wet, dead and snow load.

    Prints Fb' = 1,173 and Fv' = 201 psi.
    """
    fir = design_values("Douglas fir-larch", "No.1", "2x8")
    wet = wood_referee.wet_bending_factor(fir.bending_psi, fir.size_factor, 1.0)
    bending = design.adjusted_bending_psi(
        fir.bending_psi, load_duration=1.15, wet_service=wet, size=fir.size_factor
    )
    shear = design.adjusted_shear_psi(
        fir.shear_psi, load_duration=1.15, wet_service=wood_referee.wet_factor(1.0, 0.97)
    )
    assert round(float(bending)) == 1173
    assert round(float(shear)) == 201


def test_a_hem_fir_2x10_joist_under_snow_has_the_printed_strength() -> None:
    """Missouri University of Science and Technology, course 5260, problem 4.30: No.2 at 16 in.

    Prints Fb' = 1,237 (1,236.5 rounded up), Fv' = 173 (172.5 rounded up), Fc_perp' = 405 psi.
    """
    fir = design_values("Hem-fir", "No.2", "2x10")
    bending = design.adjusted_bending_psi(
        fir.bending_psi, load_duration=1.15, size=fir.size_factor, repetitive=1.15
    )
    assert bending == pytest.approx(1237, abs=0.51)  # half of the last printed digit
    assert design.adjusted_shear_psi(fir.shear_psi, load_duration=1.15) == pytest.approx(
        173, abs=0.51
    )
    assert design.adjusted_bearing_psi(fir.bearing_psi) == 405


def test_a_twelve_foot_joist_has_the_printed_moment_shear_and_sag() -> None:
    """Cornell University, ARCH 264 (2008), homework 4: 2x10 at 16 in, 40 live and 15 dead.

    Prints M = 15,840 in-lb, V at d from the support = 384 lb, A = 13.875 in2, I = 98.93 in4, live
    sag 0.16 in against 0.4 in, and a needed CF S of 15.74 in3 with the design values of its day
    (Fb 875 psi, repetitive).
    """
    width, depth = dressed_size("2x10")
    load = wood_referee.load_per_ft_plf(55.0, 16 / 12)
    live = wood_referee.load_per_ft_plf(40.0, 16 / 12)
    inertia = design.moment_of_inertia_in4(width, depth)
    moment = design.moment_lb_ft(load, 12.0)
    assert round(12 * float(moment)) == 15840
    # Printed with d rounded to 0.77 ft, which shifts V by under 0.6 lb.
    assert design.shear_lb(load, 12.0, ignored_in=depth) == pytest.approx(384, abs=0.6)
    assert design.section_area_in2(width, depth) == 13.875
    assert round(float(inertia), 2) == 98.93
    sag = design.deflection_in(live, 12.0, 1_600_000.0, inertia)
    assert round(float(sag), 2) == 0.16
    assert design.deflection_utilisation(sag, 12.0, 360.0) == pytest.approx(float(sag) / 0.4)
    needed = 15.74
    used = design.bending_utilisation(
        moment, needed, design.adjusted_bending_psi(875.0, repetitive=1.15)
    )
    assert used == pytest.approx(1.0, abs=0.0005)  # four printed digits


@pytest.mark.parametrize(
    ("size", "area_in2", "modulus_in3", "inertia_in4"),
    [
        ("2x6", 8.25, 7.563, 20.80),
        ("2x8", 10.88, 13.14, 47.63),
        ("2x10", 13.88, 21.39, 98.93),
        ("2x12", 16.88, 31.64, 178.0),
    ],
)
def test_joist_sections_have_the_properties_of_the_supplement(
    size: str, area_in2: float, modulus_in3: float, inertia_in4: float
) -> None:
    """NDS Supplement Table 1B, from memory, to four figures."""
    width, depth = dressed_size(size)
    figures = 5e-4  # half a unit in the fourth figure, of 1.000 at worst
    assert design.section_area_in2(width, depth) == pytest.approx(area_in2, rel=figures)
    assert design.section_modulus_in3(width, depth) == pytest.approx(modulus_in3, rel=figures)
    assert design.moment_of_inertia_in4(width, depth) == pytest.approx(inertia_in4, rel=figures)
