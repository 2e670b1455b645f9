"""Kinds of quantity as they stand in signatures, for `sealkit.units.with_units`.

    from sealkit import kinds as si

    @with_units(returns="area")
    def receiver_area(width: si.Length0, depth: si.Length0) -> Any: ...

A size is above zero (`Length`); one with a 0 behind it may be zero (`Length0`), one with Any before
it may have either sign (`AnyLength`). Inside a function each is a plain SI float or array.
"""

from typing import Annotated, Any, get_origin

Angle = Annotated[Any, "angle > 0"]
Angle0 = Annotated[Any, "angle >= 0"]
AnyAngle = Annotated[Any, "angle"]
Area = Annotated[Any, "area > 0"]
CrankSpeed = Annotated[Any, "crank speed > 0"]
CrankSpeed0 = Annotated[Any, "crank speed >= 0"]
Energy0 = Annotated[Any, "energy >= 0"]
AnyExpansion = Annotated[Any, "expansion"]
AnyForce = Annotated[Any, "force"]
Force = Annotated[Any, "force > 0"]
Force0 = Annotated[Any, "force >= 0"]
Fraction = Annotated[Any, "fraction > 0"]
Fraction0 = Annotated[Any, "fraction >= 0"]
Share = Annotated[Any, "fraction 0..1"]
GaugePressure0 = Annotated[Any, "gauge pressure >= 0"]
AnyLength = Annotated[Any, "length"]
Length = Annotated[Any, "length > 0"]
Length0 = Annotated[Any, "length >= 0"]
Lift0 = Annotated[Any, "lift >= 0"]
AnyLineLoad = Annotated[Any, "line load"]
LineLoad = Annotated[Any, "line load > 0"]
LineLoad0 = Annotated[Any, "line load >= 0"]
Mass0 = Annotated[Any, "mass >= 0"]
Modulus = Annotated[Any, "modulus > 0"]
Above1 = Annotated[Any, "number > 1"]
AnyNumber = Annotated[Any, "number"]
Number = Annotated[Any, "number > 0"]
Number0 = Annotated[Any, "number >= 0"]
PlateStiffness = Annotated[Any, "plate stiffness > 0"]
AnyPower = Annotated[Any, "power"]
AnyPressure = Annotated[Any, "pressure"]
Pressure = Annotated[Any, "pressure > 0"]
Pressure0 = Annotated[Any, "pressure >= 0"]
Roughness0 = Annotated[Any, "roughness >= 0"]
SpecificHeat = Annotated[Any, "specific heat > 0"]
Speed = Annotated[Any, "speed > 0"]
Speed0 = Annotated[Any, "speed >= 0"]
Stiffness = Annotated[Any, "stiffness > 0"]
AnyStress = Annotated[Any, "stress"]
Stress = Annotated[Any, "stress > 0"]
Stress0 = Annotated[Any, "stress >= 0"]
AnyTemperatureDifference = Annotated[Any, "temperature difference"]
Temperature = Annotated[Any, "temperature > 0"]
Time = Annotated[Any, "time > 0"]
Time0 = Annotated[Any, "time >= 0"]
Torque0 = Annotated[Any, "torque >= 0"]
AnyVolume = Annotated[Any, "volume"]
Volume = Annotated[Any, "volume > 0"]
Volume0 = Annotated[Any, "volume >= 0"]

SPECS: dict[str, str] = {
    name: kind.__metadata__[0] for name, kind in globals().items() if get_origin(kind) is Annotated
}
"""Name -> kind and range as `with_units` reads them."""
