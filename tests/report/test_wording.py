from __future__ import annotations

from typing import get_args

import pytest

from voice.entries.kinds import (
    Entry,
    checks,
    drain,
    drain_care,
    drugs,
    fluids,
    laboratory,
    leg,
    neuro,
    order,
    patient,
    ventilator,
    vitals,
)
from voice.report.wording import KINDS, entry_text, label, number, value

EXPECTED: list[tuple[Entry, str]] = [
    (drain.Pressure(value=14, unit="mmHg"), "ICP 14 mmHg"),
    (drain.Pressure(value=-2.5, unit="cmH2O"), "ICP -2.5 cmH2O"),
    (drain.DrainLevel(level_cmh2o=15), "Drain level 15 cmH2O"),
    (drain.DrainLevel(level_cmh2o=-5), "Drain level -5 cmH2O"),
    (
        drain.DrainLevel(level_cmh2o=10, reference="tragus"),
        "Drain level 10 cmH2O above tragus",
    ),
    (
        drain.DrainLevel(level_cmh2o=-5, reference="midbrow"),
        "Drain level 5 cmH2O below midbrow",
    ),
    (drain.DrainLevel(level_cmh2o=0, reference="tragus"), "Drain level 0 cmH2O at tragus"),
    (drain.ChamberReading(volume_ml=24), "Chamber at 24 mL"),
    (drain.Drained(volume_ml=0.5), "Drained 0.5 mL"),
    (drain.ChamberEmptied(), "Chamber emptied"),
    (drain.ChamberEmptied(volume_ml=22), "Chamber emptied of 22 mL"),
    (drain.StopcockClosed(), "Chamber stopcock closed"),
    (drain.BagState(fill="half full"), "Bag half full"),
    (drain.BagChanged(), "Bag changed"),
    (drain.Flushed(volume_ml=10), "Flushed 10 mL"),
    (drain.Flushed(volume_ml=5, by="neurosurgeon"), "Flushed 5 mL by neurosurgeon"),
    (drain.CsfColour(colour="straw"), "CSF colour straw"),
    (drain.CsfClarity(clarity="cloudy"), "CSF clarity cloudy"),
    (drain.DrainClamped(), "Drain clamped"),
    (drain.DrainClamped(reason="transfer"), "Drain clamped for transfer"),
    (drain.DrainOpened(), "Drain open"),
    (drain.DrainLevelled(), "Drain levelled"),
    (drain.DrainLevelled(reference="tragus"), "Drain levelled to tragus"),
    (drain.DrainZeroed(), "Drain zeroed"),
    (drain.ZeroFailed(), "Zero failed"),
    (drain.NoDrip(level_cmh2o=0), "No drip at 0 cmH2O"),
    (drain.DripsAt(level_cmh2o=9), "Drips at 9 cmH2O"),
    (drain.DrainLevelMmhg(level_mmhg=15), "Drain level said as 15 mmHg"),
    (drain.OpeningPressure(value=22, unit="cmH2O"), "Opening pressure 22 cmH2O"),
    (drain.Waveform(state="damped"), "ICP waveform damped"),
    (drain_care.CatheterPlaced(month=11, day=3), "Catheter placed 3 November"),
    (
        drain_care.CatheterPlaced(month=5, day=31, hour=9, minute=5),
        "Catheter placed 31 May 09:05",
    ),
    (drain_care.CatheterOut(), "Catheter out"),
    (drain_care.Occlusion(state="suspected"), "Occlusion suspected"),
    (drain_care.LineDisconnected(), "Line disconnected"),
    (drain_care.DisconnectionStep(step="end covered"), "End covered"),
    (drain_care.DrainLeak(), "Leak"),
    (drain_care.DrainLeak(where="connection"), "Leak at the connection"),
    (drain_care.FilterWet(), "Filter wet"),
    (drain_care.TubingChecked(), "Tubing checked"),
    (drain_care.TubingSecured(), "Tubing coiled and taped"),
    (drain_care.Dressing(state="dry"), "Dressing dry"),
    (drain_care.Stopcocks(position="off"), "Both stopcocks off"),
    (drain_care.ChamberUpright(), "Chamber upright"),
    (drain_care.DrainKind(design="own pole"), "Kind of drain own pole"),
    (drain_care.MountFits(fits=True), "Mount fits"),
    (drain_care.MountFits(fits=False), "Mount does not fit"),
    (drain_care.SpareCables(there=True), "Spare pressure cables on board"),
    (drain_care.SpareCables(there=False), "Spare pressure cables missing"),
    (order.OrderDrain(state="clamped"), "Order: drain clamped"),
    (
        order.OrderDrain(state="open", level_cmh2o=15, reference="tragus"),
        "Order: drain open at 15 cmH2O above tragus",
    ),
    (order.OrderDrain(level_cmh2o=10), "Order: drain at 10 cmH2O"),
    (order.OrderHourlyLimit(volume_ml=20), "Order: in an hour at most 20 mL"),
    (
        order.OrderPressureLimit(side="above", value=22, unit="mmHg"),
        "Order: ICP not above 22 mmHg",
    ),
    (order.OrderFlushLimit(count=2), "Order: flushes at most 2"),
    (order.OrderClampLimit(minutes=30), "Order: clamped at most 30 min at a time"),
    (order.OrderPressureInterval(minutes=15), "Order: pressure read every 15 min"),
    (order.OrderZeroInterval(hours=4), "Order: zeroed every 4 h"),
    (order.OrderDoseInterval(drug="cefazolin", hours=8), "Order: cefazolin every 8 h"),
    (order.OrderPerfusionTarget(value_mmhg=60), "Order: CPP at least 60 mmHg"),
    (patient.HeadOfBed(angle_deg=30), "Head of bed 30 degrees"),
    (patient.Diagnosis(diagnosis="aneurysm"), "Diagnosis aneurysm"),
    (patient.HeadPosition(position="turned left"), "Head turned left"),
    (patient.Position(position="on left side"), "Patient on left side"),
    (patient.Sedation(state="deep sedation"), "Level of consciousness deep sedation"),
    (patient.SedationScore(score=-2), "RASS -2"),
    (patient.SedationScore(score=0), "RASS 0"),
    (patient.SedationScore(score=1), "RASS +1"),
    (patient.PatientEvent(event="seizure over"), "Seizure over"),
    (ventilator.VentilatorMode(mode="volume control"), "Ventilator mode volume control"),
    (ventilator.VentilatorRate(rate_per_min=16), "Ventilator rate 16 /min"),
    (ventilator.TidalVolume(volume_ml=450), "Tidal volume 450 mL"),
    (ventilator.MinuteVolume(volume_l_per_min=7.2), "Minute volume 7.2 L/min"),
    (ventilator.Peep(value_cmh2o=5), "PEEP 5 cmH2O"),
    (ventilator.PressureSupport(value_cmh2o=0), "Pressure support 0 cmH2O"),
    (ventilator.PeakPressure(value_cmh2o=24), "Peak airway pressure 24 cmH2O"),
    (ventilator.PlateauPressure(value_cmh2o=18), "Plateau pressure 18 cmH2O"),
    (ventilator.InspiredOxygen(percent=40), "Inspired oxygen 40 %"),
    (fluids.FluidIn(fluid="normal saline", volume_ml=500), "Normal saline 500 mL"),
    (fluids.BloodGiven(product="red cells", count=1), "Red cells 1 unit"),
    (fluids.BloodGiven(product="plasma", count=4), "Plasma 4 units"),
    (fluids.UrineOut(volume_ml=0), "Urine 0 mL"),
    (vitals.HeartRate(rate_per_min=100), "Heart rate 100 /min"),
    (
        vitals.BloodPressure(systolic_mmhg=120, diastolic_mmhg=80),
        "Blood pressure 120/80 mmHg, mean 93",
    ),
    (vitals.SystolicPressure(value_mmhg=120), "Systolic pressure 120 mmHg"),
    (vitals.MeanPressure(value_mmhg=82), "MAP 82 mmHg"),
    (vitals.ArterialZeroed(), "Arterial line zeroed"),
    (vitals.ArterialZeroed(reference="heart"), "Arterial line zeroed at heart"),
    (vitals.Saturation(percent=97), "Saturation 97 %"),
    (vitals.Respirations(rate_per_min=16), "Respirations 16 /min"),
    (vitals.EndTidalCo2(value_mmhg=36), "End-tidal CO2 36 mmHg"),
    (vitals.EndTidalCo2Kpa(value_kpa=4.8), "End-tidal CO2 4.8 kPa"),
    (vitals.Temperature(value_celsius=37.2), "Temperature 37.2 °C"),
    (vitals.TemperatureFahrenheit(value_fahrenheit=98.6), "Temperature 98.6 °F (37 °C)"),
    (neuro.Pupils(equal=True, reaction="reactive"), "Pupils equal and reactive"),
    (neuro.Pupils(equal=False), "Pupils unequal"),
    (neuro.Pupils(size_mm=3, reaction="brisk"), "Pupils 3 mm brisk"),
    (neuro.Pupil(side="left", size_mm=4), "Pupil left 4 mm"),
    (neuro.Pupil(side="right", reaction="fixed"), "Pupil right fixed"),
    (neuro.ComaScore(total=8), "GCS 8"),
    (neuro.ComaParts(eyes=2, verbal=1, motor=5), "GCS eyes 2, verbal 1, motor 5, total 8"),
    (neuro.ComaParts(eyes=2, verbal="tube", motor=5), "GCS eyes 2, verbal tube, motor 5"),
    (neuro.LimbMovement(side="left", limb="arm", movement="weak"), "Left arm weak"),
    (
        neuro.LimbMovement(side="right", limb="leg", movement="weak", strength=3),
        "Right leg weak strength 3 of 5",
    ),
    (
        neuro.LimbMovement(side="left", limb="arm and leg", movement="no movement"),
        "Left side no movement",
    ),
    (neuro.LimbMovement(side="both", limb="arm", strength=0), "Both arms strength 0 of 5"),
    (neuro.LimbMovement(side="both", limb="arm and leg", movement="moving"), "All limbs moving"),
    (drugs.DrugGiven(drug="mannitol", dose=50, unit="g"), "Mannitol 50 g"),
    (drugs.DrugGiven(drug="fentanyl", dose=1000, unit="mcg"), "Fentanyl 1000 mcg"),
    (
        drugs.InfusionStarted(drug="noradrenaline", rate=0.05, unit="mcg/kg/min"),
        "Noradrenaline started at 0.05 mcg/kg/min",
    ),
    (
        drugs.InfusionChanged(drug="propofol", rate=50, unit="mcg/kg/min"),
        "Propofol changed to 50 mcg/kg/min",
    ),
    (drugs.InfusionStopped(drug="propofol"), "Propofol stopped"),
    (drugs.LastDose(drug="cefazolin", hour=9, minute=5), "Cefazolin, last dose 09:05"),
    (
        drugs.LastDose(drug="cefazolin", hour=22, minute=0, day="yesterday"),
        "Cefazolin, last dose 22:00 yesterday",
    ),
    (drugs.Weight(value=82.5, unit="kg"), "Weight 82.5 kg"),
    (drugs.Weight(value=180, unit="lb"), "Weight 180 lb (81.6 kg)"),
    (laboratory.Laboratory(analyte="sodium", value=142, unit="mmol/L"), "Sodium 142 mmol/L"),
    (laboratory.Laboratory(analyte="pCO2", value=4.9, unit="kPa"), "pCO2 4.9 kPa"),
    (laboratory.Laboratory(analyte="pH", value=7.32), "pH 7.32"),
    (laboratory.Laboratory(analyte="INR", value=1.2), "INR 1.2"),
    (laboratory.Laboratory(analyte="platelets", value=180), "Platelets 180 x 10^9/L"),
    (leg.LegMark(mark="wheels up"), "Wheels up"),
    (leg.PersonOnBoard(role="respiratory therapist"), "On board respiratory therapist"),
    (leg.VehicleChange(vehicle="stretcher"), "Moved to stretcher"),
    (leg.CabinAltitude(altitude_ft=6000), "Cabin altitude 6000 ft"),
    (leg.FlightAltitude(altitude_ft=35_000), "Flight altitude 35000 ft"),
    (leg.Delay(reason="waiting for bed"), "Delay waiting for bed"),
    (leg.UnitCalled(whom="accepting unit"), "Called accepting unit"),
    (leg.HandedOver(to="nurse"), "Handed over to nurse"),
    (leg.SpokenNote(), "Spoken note"),
    (
        checks.CheckAnswer(check="before leaving", item="bag not full", answer="yes"),
        "Check before leaving, bag not full yes",
    ),
]


@pytest.mark.parametrize(("entry", "text"), EXPECTED)
def test_each_entry_is_written_in_words_of_the_trade(entry: Entry, text: str) -> None:
    """Every kind of entry, with and without what may be left out, has one written form."""
    assert entry_text(entry) == text
    assert f"{label(entry)} {value(entry)}".strip() == text


def test_no_kind_is_left_out() -> None:
    """Every kind that a leg can hold has a wording and is tried above."""
    every = {kind.model_fields["kind"].default for kind in get_args(get_args(Entry)[0])}
    assert every == KINDS
    assert {entry.kind for entry, _ in EXPECTED} == every


@pytest.mark.parametrize(
    ("told", "text"), [(14.0, "14"), (0.5, "0.5"), (-2, "-2"), (250, "250"), (37.20, "37.2")]
)
def test_numbers_have_no_zero_too_many(told: float, text: str) -> None:
    """A number has no zero at its end after the point, and always one before it."""
    assert number(told) == text
