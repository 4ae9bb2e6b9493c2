"""The command line: commands and what they show, no logic."""

from __future__ import annotations

import logging
import os
import sys
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.progress import Progress

from voice.capture.devices import USUAL
from voice.capture.recordings import Pace
from voice.commands import collect, demo, devices, kept, keys, phrases, protect
from voice.commands.broken_off import broken_off, gone_on_with
from voice.commands.doctor import State, examine
from voice.commands.handoff import SummaryError, write_summary
from voice.commands.hear import hear
from voice.commands.kept import leg_folder
from voice.commands.settings import (
    AttentionOption,
    PitchOption,
    RateOption,
    SecondOption,
    StyleOption,
    VolumeOption,
    WordOption,
    listens,
)
from voice.commands.settings import told as told_preferences
from voice.commands.show import line
from voice.commands.watch import Glance, Lines
from voice.commands.which_leg import DEMO
from voice.entries.errors import LegbookError
from voice.entries.kinds.drain import PressureUnit, Reference
from voice.entries.leg import LegSettings
from voice.hearing import official
from voice.record import protection
from voice.record.errors import cause
from voice.record.in_use import standing_by
from voice.record.journal import Journal
from voice.record.places import legs_root
from voice.record.shelf import load
from voice.session import preferences
from voice.session.attention import Way
from voice.session.attention_word import attention_word
from voice.session.models import SHIPPED_NAME, chosen_model, models
from voice.session.own_phrases import chosen_grammar
from voice.session.preferences import Preferences
from voice.session.progress import LegBegan, LegOver, MinutePassed
from voice.session.second_listener import with_second
from voice.session.setups import Equipment, live, recorded
from voice.training.bringing_in import fetch, use
from voice.training.checking import check_live, check_recordings
from voice.training.kept_checks import keep, last_check
from voice.training.telling import told, told_check

if TYPE_CHECKING:
    from voice.commands.hear import HeardSegment
    from voice.session.models import Model

app = typer.Typer(
    name="legbook",
    help="Keeps the log of a transport leg by voice. It records and reminds; it never orders care.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
model_app = typer.Typer(
    help="Alone: which model hears, which there are, and what cannot be said to each."
)
app.add_typer(kept.app)
app.add_typer(model_app, name="model")
app.add_typer(phrases.app, name="phrases")
app.add_typer(collect.app, name="collect")
app.add_typer(keys.app, name="key")
app.add_typer(protect.app, name="protect")
out = Console(highlight=False, soft_wrap=True, emoji=False)
err = Console(stderr=True, highlight=False, soft_wrap=True, emoji=False)

_SETTINGS = LegSettings()
"""As a leg is where nothing is chosen for it."""
Recording = typer.Argument(
    metavar="FILE", help="Recordings: WAV, FLAC, Ogg, Opus, MP3.", exists=True, dir_okay=False
)


def main() -> None:
    """Run the command; every failure ends in a sentence on what to do, never in a traceback."""
    os.umask(0o077)  # whatever it writes is for its owner alone
    protection.OPENED.ask = protect.asked
    protection.OPENED.hide_passphrase()
    try:
        app()
    except LegbookError as error:
        err.print(f"legbook: {error}", markup=False)
        sys.exit(2)
    except Exception as error:  # noqa: BLE001 - whatever it is, the nurse gets a sentence
        log = legs_root().parent / "legbook.log"
        _write_log(log, error)
        err.print(
            "legbook: Something went wrong that should not. What was kept is safe. "
            f"Please report it, with the end of the log: {log}",
            markup=False,
        )
        sys.exit(70)


@app.command("listen")
def listen(
    files: Annotated[list[Path] | None, Recording] = None,
    *,
    audio: Annotated[
        bool, typer.Option("--audio", help="Take the recordings FILE... for the microphone.")
    ] = False,
    fast: Annotated[
        bool, typer.Option("--fast", help="With --audio: as fast as can be, in silence.")
    ] = False,
    mix: Annotated[
        Path | None,
        typer.Option(metavar="WAV", help="With --audio: write down how all of it sounded."),
    ] = None,
    unit: Annotated[
        PressureUnit, typer.Option(help="The unit in which the monitor shows pressures.")
    ] = "mmHg",
    usual_level: Annotated[
        float,
        typer.Option(
            metavar="CMH2O",
            min=-20,
            max=40,
            help="The programme's usual drain level, offered where none was told or ordered.",
        ),
    ] = _SETTINGS.usual_level_cmh2o,
    usual_reference: Annotated[
        Reference, typer.Option(help="Above what that level is.")
    ] = _SETTINGS.usual_reference,
    go_on: Annotated[
        str | None,
        typer.Option(
            metavar="LEG", help="Go on with a leg that was broken off.", show_default=False
        ),
    ] = None,
    new: Annotated[
        bool,
        typer.Option("--new", help="Do not go on by itself with a leg that was just broken off."),
    ] = False,
    microphone: Annotated[str | None, typer.Option(help="A part of its name.")] = None,
    speaker: Annotated[str | None, typer.Option(help="A part of its name.")] = None,
    at_a_glance: Annotated[
        bool, typer.Option("--screen", help="Show the leg at a glance, for whoever sits beside.")
    ] = False,
    attention: AttentionOption = None,
    word: WordOption = None,
    style: StyleOption = None,
    rate: RateOption = None,
    pitch: PitchOption = None,
    volume: VolumeOption = None,
    second: SecondOption = None,
) -> None:
    """Listen, read back, and keep what is confirmed. Begin with the words "start leg".

    What is not given here from --attention on is as chosen with "legbook settings".
    """
    if audio != bool(files):
        raise typer.BadParameter("Recordings are given as: --audio FILE...")
    if audio and go_on:
        raise typer.BadParameter("A leg goes on by microphone only: leave out --audio.")
    if audio and attention is Way.BUTTON:
        raise typer.BadParameter("No key is pressed in recordings: choose another attention.")
    chosen = (Preferences() if audio else preferences.load()).changed(
        attention=attention, word=word, style=style,
        rate_wpm=rate, pitch=pitch, volume_percent=volume, second=second,
    )  # fmt: skip
    now = _now()
    protection.prepare()
    journal = _journal(go_on, now, unasked=not (audio or new))
    # a leg keeps its unit, its clock and its usual level to the end
    settings = (
        journal.leg().settings if journal else _settings(now, unit, usual_level, usual_reference)
    )
    equipment, of_second = with_second(
        Equipment(settings=settings, preferences=chosen), recorded=audio
    )
    if files:
        pace = Pace.FAST if fast else Pace.REAL
        session = recorded(equipment, files, now, pace=pace, mixdown_file=mix)
    else:
        session = live(equipment, _now, microphone=microphone, speaker=speaker, journal=journal)
    leg = journal.leg_id if journal else None
    out.print(*_warnings(equipment), listens(chosen), of_second, sep="\n", markup=False)
    watch = Glance(out, session) if at_a_glance else Lines(out, equipment.settings.zone)
    with suppress(KeyboardInterrupt), standing_by():
        protection.prepare()  # it may have been changed since
        for event in session.run():
            watch.show(event)
            if isinstance(event, LegBegan):
                leg = event.folder.name
            elif isinstance(event, LegOver):
                leg = None
                _hand_off(event)
    if leg is not None:
        out.print(f"Leg {leg} has not ended. Go on with: legbook listen --go-on {leg}")


def _warnings(equipment: Equipment) -> list[str]:
    """What somebody should know before a leg begins."""
    warnings = equipment.model.warning(equipment.grammar), protect.unprotected_beside_protected()
    return [warning for warning in warnings if warning]


@app.command("demo")
def run_demo(
    *,
    fast: Annotated[
        bool, typer.Option("--fast", help="As fast as can be, in silence, instead of aloud.")
    ] = False,
    demo_leg: Annotated[
        demo.DemoLeg, typer.Option("--leg", help="Forty quiet minutes, or a troubled hour.")
    ] = demo.DemoLeg.FIRST,
) -> None:
    """Fly an invented leg: it is heard, read back, confirmed and summed up."""
    now = _now()
    settings = _settings(now)
    root = demo.legs_root()
    try:
        root.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise LegbookError(
            f"The demo cannot be kept in {root}: {cause(error)}. Name another LEGBOOK_HOME."
        ) from error
    wav = root / f"{now:%Y-%m-%d-%H%M%S}.wav"
    scenes = demo.Scenes(demo_leg, now)
    over: LegOver | None = None
    with Progress(console=out, transient=True) as progress:
        task = progress.add_task("leg time", total=demo.length_s(demo_leg))
        flown = demo.session(demo_leg, root, settings, now, fast=fast, mixdown_file=wav)
        for event in flown.run():
            for scene in scenes.until(event.at):
                progress.print(f"\n{scene}", style="bold")
            if not isinstance(event, MinutePassed):
                progress.print(line(event, settings.zone))
            progress.update(task, completed=(event.at - now).total_seconds())
            over = event if isinstance(event, LegOver) else over
    if over is None:
        raise LegbookError(f"The leg was never ended. Listen to how it sounded: {wav}")
    out.print(f"\n{write_summary(over.folder, over.at)}\n", markup=False)
    expected = demo.expected_entries(demo_leg)
    told = demo.differences(load(over.folder), demo_leg, expected)
    out.print(f"How it sounded: {wav}", markup=False)
    for difference in told:
        out.print(difference, markup=False)
    if told:
        raise typer.Exit(1)
    out.print(f"All {len(expected)} entries are as they were meant.")
    out.print(f"Look at it on the reviewer's desk: legbook review {DEMO}")


@app.command("hear")
def hear_files(
    files: Annotated[list[Path], Recording],
    *,
    json: Annotated[
        bool, typer.Option(help="One line of JSON for each stretch of speech.")
    ] = False,
) -> None:
    """Say what is heard in recordings, and what would be kept; nothing is kept."""
    troubles: list[LegbookError] = []
    for segment in hear(files, on_trouble=troubles.append):
        out.print(segment.model_dump_json() if json else _told(segment), markup=False)
    for trouble in troubles:
        err.print(f"legbook: {trouble}", markup=False)
    if troubles:
        raise typer.Exit(2)


@app.command("devices")
def show_devices(
    microphone: Annotated[
        str | None,
        typer.Option(help=f'Use this one from now on: a part of its name, or "{USUAL}".'),
    ] = None,
    speaker: Annotated[str | None, typer.Option(help="The same for the speaker.")] = None,
) -> None:
    """Show which microphones and speakers there are, and which are used (*); choose others."""
    if microphone or speaker:
        devices.choose(microphone, speaker)
    for device in devices.told():
        out.print(device, markup=False)


@app.command("settings")
def settings(
    *,
    attention: AttentionOption = None,
    word: WordOption = None,
    style: StyleOption = None,
    rate: RateOption = None,
    pitch: PitchOption = None,
    volume: VolumeOption = None,
    second: SecondOption = None,
) -> None:
    """Choose how it listens and speaks on this machine from now on, and show what is chosen."""
    if word is not None:
        word = attention_word(word, chosen_grammar(), chosen_model())
    before = preferences.load()
    chosen = before.changed(
        attention=attention, word=word, style=style,
        rate_wpm=rate, pitch=pitch, volume_percent=volume, second=second,
    )  # fmt: skip
    if chosen != before:
        preferences.save(chosen)
    for sentence in told_preferences(chosen):
        out.print(sentence, markup=False)


@app.command("doctor")
def doctor() -> None:
    """Before a leg: try microphone, speaker, hearing, speech, disk and clock."""
    broken = False
    for finding in examine(_now(), ask=lambda text: out.print(text, markup=False)):
        broken |= finding.state is State.BROKEN
        out.print(f"{finding.state:7} {finding.subject:11} {finding.text}", markup=False)
    if broken:
        raise typer.Exit(1)


@app.command("voice-check")
def voice_check(
    files: Annotated[
        list[Path] | None,
        typer.Argument(metavar="FILE", help="One recording for each prompt, or a folder of them."),
    ] = None,
    *,
    audio: Annotated[
        bool, typer.Option("--audio", help="Take the recordings FILE... instead of the microphone.")
    ] = False,
    voice: Annotated[
        str, typer.Option(help="Whose voice, in words of your own: checks of it are compared.")
    ] = "",
    microphone: Annotated[str | None, typer.Option(help="A part of its name.")] = None,
) -> None:
    """Read twenty prompts aloud, and see how each model hears your voice. It stays here."""
    if audio != bool(files):
        raise typer.BadParameter("Recordings are given as: --audio FILE...")
    if files:
        check = check_recordings(files, _now(), voice)
    else:
        out.print("Read each line aloud as it comes. Slipped? Say it again at once.")
        check = check_live(_now(), voice, lambda text: out.print(f"    {text}"), microphone)
    before = last_check(voice)
    file = keep(check)
    for sentence in told_check(check, before):
        out.print(sentence, markup=False)
    out.print(f"Kept, without sound, in {file}", markup=False)


@model_app.callback(invoke_without_command=True)
def show_models(context: typer.Context) -> None:
    """Show which model hears, which there are, and what cannot be said to each."""
    if context.invoked_subcommand is None:
        out.print(f"Hearing with: {chosen_model().name}", markup=False)
        for model in models():
            _show_model(model)


@model_app.command("use")
def use_model(
    model: Annotated[
        str, typer.Argument(metavar="NAME|FOLDER", help=f'"{SHIPPED_NAME}" goes back to ours.')
    ],
) -> None:
    """Hear with another model from now on; a folder is copied onto this machine first."""
    used = use(model, chosen_grammar())
    _show_model(used)
    out.print(f"Hearing with {used.name} from now on.", markup=False)


@model_app.command("fetch")
def fetch_model() -> None:
    """Fetch the official small English model (41 MB; needs a network), to be tried and used."""
    with Progress(console=out, transient=True) as progress:
        task = progress.add_task(official.NAME, total=None)
        model = fetch(
            chosen_grammar(),
            lambda come, total: progress.update(task, completed=come, total=total or None),
        )
    _show_model(model)
    out.print(f"Hear with it from now on: legbook model use {model.name}")


def _show_model(model: Model) -> None:
    for sentence in told(model, chosen_grammar()):
        out.print(sentence, markup=False)


def _hand_off(over: LegOver) -> None:
    """Show the summary of a leg that ended; listening goes on whatever becomes of its file."""
    try:
        out.print(write_summary(over.folder, over.at), markup=False)
    except SummaryError as error:
        err.print(f"legbook: {error}", markup=False)


def _now() -> datetime:
    return datetime.now(UTC).astimezone()


def _settings(
    now: datetime,
    unit: PressureUnit = _SETTINGS.pressure_unit,
    usual_level_cmh2o: float = _SETTINGS.usual_level_cmh2o,
    usual_reference: Reference = _SETTINGS.usual_reference,
) -> LegSettings:
    offset = now.utcoffset() or timedelta()
    return LegSettings(
        pressure_unit=unit,
        utc_offset_min=offset // timedelta(minutes=1),
        usual_level_cmh2o=usual_level_cmh2o,
        usual_reference=usual_reference,
    )


def _journal(asked: str | None, now: datetime, *, unasked: bool) -> Journal | None:
    """The journal of the leg to go on with: that which was asked for, or was just broken off."""
    if asked:
        return _gone_on_with(asked, now)
    journal, sentence = broken_off(now) if unasked else (None, "")
    if sentence:
        out.print(sentence, markup=False)
    return journal


def _gone_on_with(asked: str, now: datetime) -> Journal:
    """The journal of a leg to go on with; an ended leg is not gone on with."""
    journal = gone_on_with(leg_folder(asked), now)
    if journal.leg().ended_at is not None:
        journal.close()
        raise LegbookError(f"Leg {journal.leg_id} has ended. Start a new one with: legbook listen")
    return journal


def _told(segment: HeardSegment) -> str:
    place = f"{segment.file} {segment.start_s:.1f}-{segment.end_s:.1f} s"
    return f'{place}: "{segment.text}": {segment.decision.outcome}'


def _write_log(log: Path, error: Exception) -> None:
    """Append the failure, with its traceback, to the log."""
    try:
        log.parent.mkdir(parents=True, exist_ok=True)
        handler = logging.FileHandler(log, encoding="utf-8")
    except OSError:
        return
    handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    logger = logging.getLogger("legbook")
    logger.addHandler(handler)
    logger.error("%s", " ".join(sys.argv), exc_info=error)


if __name__ == "__main__":
    main()
