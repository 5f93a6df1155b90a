"""What a plant is: site, train, stages, membrane, and the settings of the method. All are frozen."""

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

TemperatureCorrection = Literal["two-slope", "exponential", "percent", "fitted"]
SaltTemperatureCorrection = Literal["same", "none", "exponential"]
Water = Literal["natural-brackish", "sodium-chloride", "seawater"]
SCOPE_TRAIN = "train"


@dataclass(frozen=True)
class Membrane:
    """One element model, as its data sheet gives it. Pressure limits in bar, temperature in degC, slopes in K.

    The limits are the usual ones of polyamide spiral elements, from memory of makers' manuals, and apply
    until the data sheet's own are given. Makers' limits of pH in a cleaning differ (1 to 13 or 2 to 12 at 25 degC,
    up to 12 at 35 degC and 10.5 at 45 degC, from memory): the strictest are taken; its 4 bar are 60 psi, from memory.
    """

    area_m2: float
    diameter_inch: float = 8.0
    temperature_correction: TemperatureCorrection = "two-slope"
    slope_k: float | None = None
    percent_per_degc: float | None = None
    salt_temperature_correction: SaltTemperatureCorrection = "same"
    salt_slope_k: float | None = None
    water_permeability_lmh_bar: float | None = None
    salt_permeability_lmh: float | None = None
    max_dp_element_bar: float = 1.0
    max_dp_vessel_bar: float = 3.5
    max_pressure_bar: float = 41.0
    max_temperature_c: float = 45.0
    element_length_m: float = 1.016
    cleaning_min_ph: float = 2.0
    cleaning_max_ph_25c: float = 12.0
    cleaning_max_ph_35c: float = 12.0
    cleaning_max_ph_45c: float = 10.5
    cleaning_max_temperature_c: float = 45.0
    cleaning_max_pressure_bar: float = 4.0


@dataclass(frozen=True)
class Stage:
    """`vessels` in parallel, each with `elements_per_vessel` in series, fed through a booster pump or not."""

    vessels: int
    elements_per_vessel: int
    membrane: Membrane
    membrane_name: str = ""
    booster: bool = False

    @property
    def elements(self) -> int:
        return self.vessels * self.elements_per_vessel

    @property
    def area_m2(self) -> float:
        return self.elements * self.membrane.area_m2


@dataclass(frozen=True)
class Reference:
    """The days, both included, whose medians are the reference."""

    start: date
    end: date


@dataclass(frozen=True)
class Assumed:
    """Values that the plant file states in place of a meter: degC, bar, mg/L per uS/cm, and the osmotic pressure of
    this water over that of the law (found by the model where it is not given). [-]"""

    feed_temperature: float | None = None
    permeate_pressure: float | None = None
    tds_per_conductivity: float | None = None
    osmotic_factor: float | None = None


@dataclass(frozen=True)
class Limits:
    """When to warn, clean, and when it is too late: ratios to the reference, pressures in bar.

    Defaults: facts of the trade differ between makers (flow -10..-15 %, salt passage +5..+20 %, pressure drop
    +10..+25 %); these are the middle of published cleaning criteria, and the absolute ones are those of a membrane
    maker's manual on high pressure drop. `min_suction_pressure_bar` is common practice, no source (20 psi).
    `max_chlorine_exposure_ppm_h` is the low end of a membrane maker's manual (200 to 1000 mg/L x h of free chlorine
    until polyamide shows it); `max_free_chlorine_mg_l` of one reading and `max_orp_rise_mv`, above the site's own ORP
    without chlorine, are common practice, no source.
    """

    permeate_flow_warn: float = 0.93
    permeate_flow_clean: float = 0.90
    permeate_flow_too_late: float = 0.80
    salt_passage_warn: float = 1.10
    salt_passage_clean: float = 1.15
    salt_passage_too_late: float = 1.50
    pressure_drop_warn: float = 1.10
    pressure_drop_clean: float = 1.15
    pressure_drop_too_late: float = 1.50
    min_suction_pressure_bar: float = 1.4
    max_free_chlorine_mg_l: float = 0.1
    max_chlorine_exposure_ppm_h: float = 200.0
    max_orp_rise_mv: float = 50.0


@dataclass(frozen=True)
class Method:
    """Choices of the standard method."""

    pressure_drop_exponent: float = 1.5
    pressure_drop_viscosity: bool = False


@dataclass(frozen=True)
class Screening:
    """Thresholds of the screen. Shares and tolerances are fractions.

    Tolerances are common practice, no source; each is a setting because meters differ.
    """

    running_permeate_flow_m3h: float | None = None
    running_share_of_usual_flow: float = 0.5
    settling_minutes: float = 45.0
    flow_balance_tolerance: float = 0.12
    salt_balance_tolerance: float = 0.35
    pressure_tolerance_bar: float = 0.1
    spike_ratio: float = 4.0
    spike_least_change: float = 0.10
    frozen_readings: int = 8
    clipped_readings: int = 4


@dataclass(frozen=True)
class Meters:
    """How exact the meters are, as data sheets state it: of pressures in bar, of temperature in degC, of flows and
    conductivities as a fraction of the value; and after how many days each kind is calibrated, 0 where nobody is to
    be reminded.

    Common practice, no source: gauges of 1 % of 20 bar, flow meters and cells of 2 %, thermometers of half a degree;
    pH and ORP every month, cells every quarter, the rest every year.
    """

    pressure_accuracy_bar: float = 0.2
    flow_accuracy: float = 0.02
    conductivity_accuracy: float = 0.02
    temperature_accuracy_c: float = 0.5
    pressure_calibration_days: int = 365
    flow_calibration_days: int = 365
    conductivity_calibration_days: int = 90
    temperature_calibration_days: int = 365
    ph_calibration_days: int = 30


@dataclass(frozen=True)
class CleaningSystem:
    """What stands around the vessels in a cleaning: pipes, cartridge filter, tank, pump, heater. m, mm, m3, m3/h, kW.

    What is None is not known; a worksheet then assumes something and says so. `vessel_fill` is the share of a bare
    vessel that elements leave to the solution, `tank_heel` what the tank must hold on top of the circuit: a published
    worked example (elements take 30 %) and common practice, no source (25 to 30 %).
    """

    pipe_length_m: float | None = None
    pipe_diameter_mm: float | None = None
    filter_length_m: float | None = None
    filter_diameter_mm: float | None = None
    vessel_fill: float = 0.70
    tank_heel: float = 0.30
    tank_volume_m3: float | None = None
    pump_flow_m3h: float | None = None
    heater_kw: float | None = None


@dataclass(frozen=True)
class DosingSystem:
    """What is meant to be dosed before the membranes, and from what tank. mg of product to L of feed, -, kg/L.

    What is None is not known, and is then not looked at. `antiscalant_tank_share` is the volume fraction of product in
    the dosing tank, 1 where it is dosed as delivered.
    """

    antiscalant_mg_l: float | None = None
    antiscalant_tank_share: float | None = None
    antiscalant_density_kg_l: float | None = None


@dataclass(frozen=True)
class Site:
    """Where the plant stands: its clock, its money, and the units that its people read."""

    name: str
    timezone: str = "UTC"
    currency: str = ""
    location: str = ""
    units: Literal["SI", "US"] = "SI"


@dataclass(frozen=True)
class Train:
    """One train: what it is built of, what it is compared with, and the settings of the method for it."""

    name: str
    stages: tuple[Stage, ...]
    reference: Reference | None = None
    water: Water = "natural-brackish"
    assumed: Assumed = field(default_factory=Assumed)
    limits: Limits = field(default_factory=Limits)
    method: Method = field(default_factory=Method)
    screening: Screening = field(default_factory=Screening)
    meters: Meters = field(default_factory=Meters)
    cleaning: CleaningSystem = field(default_factory=CleaningSystem)
    dosing: DosingSystem = field(default_factory=DosingSystem)

    @property
    def area_m2(self) -> float:
        return sum(stage.area_m2 for stage in self.stages)

    @property
    def scopes(self) -> tuple[str, ...]:
        """`train`, then `stage1`, `stage2`, ... in the order of the water."""
        return (SCOPE_TRAIN, *(f"stage{n}" for n in range(1, len(self.stages) + 1)))


@dataclass(frozen=True)
class Plant:
    """A train at its site: all that the science knows of a plant."""

    site: Site
    train: Train
