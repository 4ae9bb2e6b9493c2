"""``legbook phrases``: the trainer's commands. What they do stands in `voice.training.phrases`."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console
from rich.progress import Progress

from voice.acoustics.lexicon_file import checked
from voice.acoustics.proposal import propose
from voice.commands.which_leg import kept_legs
from voice.record.places import legs_root, spare_root
from voice.record.reading import leg_folders, read_chain
from voice.session.models import SHIPPED_NAME, Model
from voice.session.own_phrases import (
    Layer,
    chosen_grammar,
    drafts,
    hearing_folder,
    layers,
    own_layer,
    phrase_files,
)
from voice.session.segments import segments_of
from voice.training.phrases import packs, workshop
from voice.training.phrases.alike import nearest_words
from voice.training.phrases.checker import check, check_lists
from voice.training.phrases.faults import LOOK
from voice.training.phrases.misheard import gather, read_misheard, write_misheard
from voice.training.phrases.proof import (
    SNRS_DB,
    UNDERSTOOD,
    prove,
    segment_in,
    understood,
    was_changed,
)
from voice.training.phrases.trying import heard, meanings, spoken_live
from voice.training.phrases.voices import in_noise

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.meaning.grammar import Grammar
    from voice.training.phrases.faults import Fault
    from voice.training.phrases.proof import Proof

app = typer.Typer(
    help="For the trainer: check, try, add, prove, teach, pack and install phrases.",
    no_args_is_help=True,
)
out = Console(highlight=False, soft_wrap=True, emoji=False, markup=False)

_LOOKS_SHOWN = 15
MisheardList = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="A reviewer's list of misheard phrases.", exists=True),
]


@app.command("check")
def check_phrases(
    files: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="FILE",
            exists=True,
            dir_okay=False,
            help="Phrase files; else the drafts, and what was added.",
        ),
    ] = None,
    *,
    everything: Annotated[
        bool, typer.Option("--all", help="The shipped files as well, and all that sounds alike.")
    ] = False,
) -> None:
    """Tell every fault of phrase files, with file and line, and what sounds alike."""
    with_files = [file for file in files or [] if file not in phrase_files(drafts())]
    every = [*phrase_files(drafts()), *with_files]
    mine = [f.name for layer in (drafts(), *layers()) for f in layer.files]
    only = [f.name for f in files] if files else mine
    if not everything and not only and not any(layer.lists for layer in layers()):
        out.print("There is no draft and no added phrase. Check the shipped ones with --all.")
        return
    faults = (
        *check_lists([*phrase_files(drafts())], layers()),
        *check(every, workshop.known_words(drafts()), None if everything else only),
    )
    _show_faults(faults, everything=everything)
    if any(fault.must_be_mended for fault in faults):
        raise typer.Exit(1)


def _show_faults(faults: Sequence[Fault], *, everything: bool) -> None:
    must = [fault for fault in faults if fault.must_be_mended]
    looks = [fault for fault in faults if fault.sort in LOOK]
    for fault in must:
        out.print(str(fault))
    if looks:
        out.print(
            "To look at; a person decides:" if must else "No fault. To look at; a person decides:"
        )
    for fault in looks if everything else looks[:_LOOKS_SHOWN]:
        out.print(f"  {fault}")
    if len(looks) > _LOOKS_SHOWN and not everything:
        out.print(f"  and {len(looks) - _LOOKS_SHOWN} more; see all with --all")
    if not faults:
        out.print("No fault, and nothing that sounds alike.")


@app.command("try")
def try_phrases(
    texts: Annotated[list[str] | None, typer.Argument(metavar="PHRASE")] = None,
    *,
    audio: Annotated[
        list[Path] | None, typer.Option(metavar="FILE", help="A recording of it.", exists=True)
    ] = None,
    say: Annotated[bool, typer.Option("--say", help="Say it into the microphone.")] = False,
    misheard: MisheardList = None,
    microphone: Annotated[str | None, typer.Option(help="A part of its name.")] = None,
) -> None:
    """Type or say a phrase: what it means, how it is read back, and what sounds compete with it."""
    grammar = chosen_grammar(drafts())
    model = Model(SHIPPED_NAME, hearing_folder(drafts()))
    if say:
        for line in heard(spoken_live(out.print, microphone), model, grammar):
            out.print(line)
    for file in audio or []:
        out.print(f"{file}:")
        for segment in segments_of(file):
            for line in heard(segment, model, grammar):
                out.print(line)
    listed = read_misheard(misheard) if misheard else ()
    for one in listed:
        out.print(
            f'misheard {one.count} times, as {", ".join(one.heard) or "nothing"}: "{one.phrase}"'
        )
    for text in [*(texts or []), *(one.phrase for one in listed)]:
        _try_typed(text, model, grammar)


def _try_typed(text: str, model: Model, grammar: Grammar) -> None:
    for line in meanings(text, grammar):
        out.print(line)
    for voice in workshop.some_voices(1):
        out.print(f"Spoken by {voice.name}, in helicopter at 10 dB:")
        for line in heard(segment_in(in_noise(voice.say(text), 10.0, text)), model, grammar):
            out.print(line)


@app.command("add")
def add_phrase(
    name: Annotated[str, typer.Argument(help="Of its file, in small letters.")],
    *,
    say: Annotated[
        str,
        typer.Option(
            prompt="How is it said? (words, [optional], <slot>)", help="In the notation of phrases."
        ),
    ],
    like: Annotated[
        str,
        typer.Option(prompt="Which phrase makes such an entry today?", help="A legal phrase."),
    ],
    example: Annotated[
        str, typer.Option(prompt="An example in the new wording", help="A whole phrase.")
    ],
    refused: Annotated[
        str,
        typer.Option(prompt="A part of it that must not be heard alone", help="A counter-example."),
    ],
    yes: Annotated[bool, typer.Option("--yes", help="Keep it without asking.")] = False,
) -> None:
    """Add another wording: shows its meaning and what it collides with, then keeps it as a draft."""
    file = workshop.write_draft(name, say, like, example, [refused])
    kept = False
    try:
        for line in meanings(example, chosen_grammar(drafts())):
            out.print(line)
        faults = check([*phrase_files(drafts())], workshop.known_words(drafts()), [file.name])
        _show_faults(faults, everything=False)
        kept = yes or typer.confirm("Is that what is meant, and is it kept as a draft?")
    finally:  # also where the question was broken off
        if not kept:
            file.unlink()
            out.print("Nothing was kept.")
    if not kept:
        return
    out.print(f"Kept as a draft, and nothing listens for it yet: {file}")
    out.print("Prove it with: legbook phrases prove")


@app.command("teach")
def teach_word(
    word: Annotated[str, typer.Argument(help="In small letters.")],
    *,
    phones: Annotated[
        list[str] | None,
        typer.Option(metavar='"P H ..."', help="One pronunciation; give it again for another."),
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Keep it without asking.")] = False,
) -> None:
    """Teach a word that the model does not know, with its pronunciations, as a draft."""
    known = workshop.known_words()
    if word in known:
        ways = ", ".join(" ".join(way) for way in known[word])
        out.print(f'"{word}" is known already, said {ways}; what is given is added to that.')
    proposed = phones or [" ".join(way) for way in propose(word)]
    for way in proposed:
        near = nearest_words([checked(word, way.split(), "the command")], known, exclude=word)
        out.print(f'"{word}" said {way} sounds most like: {", ".join(near)}.')
    if not yes and not typer.confirm("Is it said so? (else give it with --phones)"):
        out.print("Nothing was kept.")
        return
    workshop.teach(word, proposed)
    out.print(f'"{word}" is a draft. Add a phrase with it, then: legbook phrases prove')


@app.command("prove")
def prove_drafts(*, misheard: MisheardList = None) -> None:
    """Prove the drafts with the voices of this machine; what is blessed is listened for from now on."""
    layer = drafts()
    names = [file.name for file in layer.files]
    found = (
        *check_lists(phrase_files(layer), layers()),
        *check(phrase_files(layer), workshop.known_words(layer), names),
    )
    if faults := [fault for fault in found if fault.must_be_mended]:
        _show_faults(faults, everything=False)
        out.print("Nothing was proven: mend this first.")
        raise typer.Exit(1)
    also = [one.phrase for one in read_misheard(misheard)] if misheard else []
    trial = workshop.trial_of(layer, also=also)
    with Progress(console=out, transient=True) as progress:
        task = progress.add_task("spoken and heard", total=trial.sounds())
        proof = prove(trial, datetime.now(UTC), lambda: progress.advance(task))
    _show_proof(proof)
    if proof.reasons():
        out.print("NOT blessed; the drafts stay drafts:")
        for reason in proof.reasons():
            out.print(f"  {reason}")
        raise typer.Exit(1)
    words = ", ".join(layer.words)
    for file in workshop.bless(layer, proof):
        out.print(f"Blessed, and listened for from now on: {file.name}")
    if words:
        out.print(f"Words that are known from now on: {words}")


def _show_proof(proof: Proof) -> None:
    for voice in proof.voices if proof.new else ():
        shares = [
            f"{understood(s for s in proof.new if (s.voice, s.snr_db) == (voice, snr_db)):.0%} "
            + ("in silence" if snr_db is None else f"at {snr_db:g} dB")
            for snr_db in SNRS_DB
        ]
        out.print(f"{voice:24} understood: {', '.join(shares)}")
    texts = len({said.text for said in proof.new})
    share = f", {understood(proof.new):.0%} understood ({UNDERSTOOD:.0%} must be)" if texts else ""
    out.print(
        f"{texts} new phrases{share}; "
        f"{len({s.text for s in proof.old})} old ones nearest in sound, "
        f"{sum(s.worse for s in proof.old)} of {len(proof.old)} heard worse."
    )


@app.command("misheard")
def list_misheard(
    file: Annotated[Path, typer.Argument(help="Where to write the list.", dir_okay=False)],
) -> None:
    """Gather what reviewers found misheard, from the legs whose sign-off allows it, into a list."""
    root, spare = legs_root(), spare_root()
    folders = [leg_folders(root / leg.id, spare and spare / leg.id) for leg in kept_legs()]
    found = gather(read_chain(both).events for both in folders)
    write_misheard(found.listed, file)
    out.print(f"In {file}: phrases {len(found.listed)}, from legs {found.legs} of {len(folders)}.")
    if found.legs < len(folders):
        out.print("The other legs are not signed off, or their sign-off does not allow it.")


@app.command("pack")
def pack_phrases(
    name: Annotated[str, typer.Argument(help="Of the pack, in small letters.")],
    folder: Annotated[Path, typer.Argument(help="Where to write it.", file_okay=False)] = Path(),
) -> None:
    """Pack the proven phrases and words of this machine into one signed file."""
    file, pack = packs.make_pack(own_layer(), name, folder, datetime.now(UTC))
    out.print(f"Packed {len(pack.files)} files: {file}")
    out.print(f"Signed with the key {pack.fingerprint}: tell it to whoever installs the pack.")


@app.command("install")
def install_pack(
    file: Annotated[Path, typer.Argument(exists=True, dir_okay=False)],
    *,
    key: Annotated[
        str | None, typer.Option(help="The fingerprint that you were told; else it is asked.")
    ] = None,
) -> None:
    """Install a pack from another machine: compares the signature, and checks it beside the rest."""
    pack, raw = packs.read_pack(file)
    out.print(f'The pack "{pack.name}" holds: {", ".join(sorted(pack.files))}')
    if key is None:
        out.print(
            f"It is signed with the key {pack.fingerprint}. Compare it with what you were told."
        )
        if not typer.confirm("Is it the same?"):
            out.print("Nothing was installed.")
            raise typer.Exit(1)
    elif key.replace(" ", "") != pack.fingerprint.replace(" ", ""):
        out.print(f"It is signed with another key: {pack.fingerprint}. Nothing was installed.")
        raise typer.Exit(1)
    near = packs.fits(pack, raw)
    layer = packs.install(pack, raw)
    out.print(f"Installed, and listened for from now on: {layer.folder}")
    if near:
        out.print(
            "It was proven without the phrases that were added here. To look at; a person decides:"
        )
    for fault in near:
        out.print(f"  {fault}")


@app.command("remove")
def remove_phrases(
    name: Annotated[
        str, typer.Argument(help="Of a file of phrases, or of a pack; or a taught word.")
    ],
) -> None:
    """Stop listening for what was added: a file goes back to the drafts, a pack or a taught word goes."""
    out.print(workshop.remove(name))


@app.command("list")
def list_phrases() -> None:
    """List what was added on this machine, and the drafts."""
    if not any(layer.files or layer.words or layer.lists for layer in (*layers(), drafts())):
        out.print("Nothing was added on this machine. Add a wording with: legbook phrases add NAME")
    for layer in layers():
        _list("listened for", "words that are known", layer)
    _list("drafts", "words among the drafts", drafts())


def _list(files: str, words: str, layer: Layer) -> None:
    for file in layer.files:
        proof = file.with_name(f"{file.stem}.proof.json")
        changed = proof.is_file() and was_changed(file.name, file.read_bytes(), proof.read_bytes())
        out.print(f"{files}: {file}{', changed after it was proven' if changed else ''}")
    for file in layer.lists:
        out.print(f"in use: {file}")
    if layer.words:
        out.print(f"{words}: {', '.join(layer.words)}")
