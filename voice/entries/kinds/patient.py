"""The patient: how he lies, how awake he is, what happened to him."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from voice.entries.frozen import Frozen


class Diagnosis(Frozen):
    """Why the patient travels; more than one may hold.

    The conditions for which a ventricular drain is commonly placed (common practice, no source). What
    is not among them is told as a spoken note.
    """

    kind: Literal["diagnosis"] = "diagnosis"
    diagnosis: Literal[
        "subarachnoid haemorrhage", "intracerebral haemorrhage", "intraventricular haemorrhage",
        "subdural haematoma", "epidural haematoma", "aneurysm", "head injury", "stroke",
        "hydrocephalus", "brain tumour", "brain abscess", "meningitis", "ventriculitis",
        "shunt infection", "shunt failure", "after brain surgery",
    ]  # fmt: skip


class HeadOfBed(Frozen):
    """Angle of the head of the bed or stretcher."""

    kind: Literal["head_of_bed"] = "head_of_bed"
    angle_deg: int = Field(ge=0, le=90)


class HeadPosition(Frozen):
    """Which way the head is turned.

    Turned, it can hold up the blood that leaves it (common practice, no source).
    """

    kind: Literal["head_position"] = "head_position"
    position: Literal["midline", "turned left", "turned right"]


class Position(Frozen):
    """How the patient lies, also as the end of a turn."""

    kind: Literal["position"] = "position"
    position: Literal[
        "supine", "on left side", "on right side", "prone", "sitting", "reverse Trendelenburg"
    ]


class Sedation(Frozen):
    """How awake the patient is, in the words of the Richmond scale; no score was said.

    Source: see `SedationScore`.
    """

    kind: Literal["sedation"] = "sedation"
    state: Literal[
        "combative",
        "restless",
        "alert and calm",
        "drowsy",
        "light sedation",
        "moderate sedation",
        "deep sedation",
        "unarousable",
    ]


class SedationScore(Frozen):
    """Richmond Agitation-Sedation Scale: -5 is unarousable, 0 alert and calm, +4 combative.

    Source: Sessler and others, Am J Respir Crit Care Med 2002; 166: 1338-1344.
    """

    kind: Literal["sedation_score"] = "sedation_score"
    score: int = Field(ge=-5, le=4)


class PatientEvent(Frozen):
    """Something that happened to the patient, or was over.

    A seizure lasts until it is over, agitation until the patient has settled.
    """

    kind: Literal["patient_event"] = "patient_event"
    event: Literal[
        "seizure",
        "seizure over",
        "agitation",
        "settled",
        "vomiting",
        "coughing",
        "shivering",
        "suctioned",
    ]


PatientEntry = (
    Diagnosis | HeadOfBed | HeadPosition | Position | Sedation | SedationScore | PatientEvent
)
"""What can be said of the patient."""
