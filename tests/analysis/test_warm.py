"""What grows when the engine warms up."""

from sealkit import analysis, build, tables


def test_the_gasket_grows_as_the_metal_of_its_construction() -> None:
    four, materials = build.demo("boosted-four"), tables.load("materials")
    for name, metal in (("copper sheet", "copper, annealed"), ("fibre composite", "301 full hard")):
        stack = analysis.stack_of(four.vary({"gasket.construction": name}))
        assert stack.gasket_expansion == materials[metal]["expansion"]
