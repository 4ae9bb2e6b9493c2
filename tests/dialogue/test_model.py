"""Any talk at all, against the journal's replay and a few rules that know nothing of states."""

from __future__ import annotations

from datetime import UTC, datetime

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from tests.dialogue.talking import CLOSED, SETTINGS, WORDS, heard, meaning_of, two
from voice.dialogue.actions import (
    Action,
    Confirm,
    EndLeg,
    Keep,
    Record,
    Remind,
    Say,
    StartLeg,
    Withdraw,
)
from voice.dialogue.events import (
    CommandHeard,
    ConfirmAndHeard,
    CorrectionHeard,
    Event,
    FellSilent,
    HalfHeard,
    Mute,
    NoteHeard,
    OtherSpeech,
    Reminder,
    SaidOver,
    SpeechUnclear,
    TimePassed,
    Trouble,
    WholeHeard,
)
from voice.dialogue.machine import step
from voice.dialogue.state import DialogueState, StateName
from voice.entries.kinds.checks import CheckAnswer
from voice.entries.leg import EntryState
from voice.entries.said import Several, Statement, Talk
from voice.meaning.unfinished import Lacks
from voice.record.events import Confirmed, Kept, LegEnded, LegStarted, Reminded, Together, Withdrawn
from voice.record.events import Event as JournalEvent
from voice.record.replay import Replay

AT = datetime(2030, 5, 1, 12, tzinfo=UTC)
ENTRIES = (
    "pressure fourteen", "pressure fifteen", "drain clamped", "left pupil four reactive",
    "right pupil five fixed", "propofol twenty milligrams", "drain open five minutes ago",
    "heart rate eighty eight pressure fourteen", "pressure fifteen drain clamped temperature thirty eight",
)  # fmt: skip
CORRECTIONS = (
    "pressure sixteen", "drain clamped for transfer", "left pupil three fixed",
    "propofol thirty milligrams", "heart rate ninety", "temperature thirty seven",
)  # fmt: skip
CHECKS = (
    "check before the move", "check after the move", "yes", "yes", "no", "skip", "stop check",
    "drain clamped for transfer", "both stopcocks off",
)  # fmt: skip
QUESTIONS = (
    ("heart rate fifty pressure fifteen", "heart rate fifty pressure fifty"),
    ("pressure fifteen", "pressure fifty"),
    ("correction drained fifteen mils", "correction drained fifty mils"),
)
TAKING_OUT = (CommandHeard(Talk.NO), CommandHeard(Talk.SCRATCH_THAT))
TALK = st.sampled_from(Talk).map(CommandHeard)
OTHER = st.sampled_from(
    [
        FellSilent(),
        HalfHeard("peep", Lacks.NUMBER),
        HalfHeard("at nine oh five", Lacks.ENTRY, given_up=True),
        Mute(),
        NoteHeard(),
        OtherSpeech(),
        SaidOver("drained six mils"),
        SpeechUnclear(),
        Trouble("The disk is full."),
        CLOSED,
        *(heard(words) for words in ("one five", "one six", "confirm", "first", "resume")),
        *(two(*question) for question in QUESTIONS),
    ]
)


def told_of(statement: Statement) -> str:
    """What must be spoken when an entry is kept: its read-back, or the item that is left open."""
    match statement.entry:
        case CheckAnswer(answer="not answered", item=item):
            return item
    return WORDS.read_back(statement)


class AnyTalk(RuleBasedStateMachine):
    """Whatever happens in whatever order; ``replay`` is what a journal makes of it."""

    def __init__(self) -> None:
        super().__init__()
        self.state = DialogueState()
        self.at_s = 0.0
        self.replay = Replay()
        self.spoken = ""
        self.heard_of: set[int] = set()  # what waited last

    @rule(text=st.sampled_from(ENTRIES))
    def entry(self, text: str) -> None:
        """An entry, or several in one breath, are said."""
        self.on(heard(text))

    @rule(text=st.sampled_from((*ENTRIES, "fentanyl fifty milligrams")))
    def confirm_and(self, text: str) -> None:
        """What waits is confirmed in the same breath."""
        self.on(heard(f"confirm {text}"))

    @rule(question=st.sampled_from(QUESTIONS[:2]))
    def confirm_and_one_of_two(self, question: tuple[str, str]) -> None:
        """What waits is confirmed, and what was said behind that is not known."""
        self.on(ConfirmAndHeard(two(*question)))

    @rule(text=st.sampled_from(CHECKS))
    def check_up(self, text: str) -> None:
        """A check begins, or what its questions may be answered with is said."""
        self.on(heard(text))

    @rule(text=st.sampled_from(CORRECTIONS))
    def correction(self, text: str) -> None:
        """Something is corrected."""
        self.on(heard(f"correction {text}"))

    @rule(text=st.sampled_from(("pressure fourteen five minutes ago", *ENTRIES)))
    def whole(self, text: str) -> None:
        """What was kept last turns out to be a part of this."""
        said = meaning_of(text)
        statements = said.statements if isinstance(said, Several) else (said,)
        self.on(WholeHeard(text, tuple(s for s in statements if isinstance(s, Statement))))

    @rule(event=TALK | OTHER)
    def anything(self, event: Event) -> None:
        """Anything else happens."""
        self.on(event)

    @rule(event=st.sampled_from([heard("confirm"), heard("scratch that"), heard("no")]))
    def answer(self, event: Event) -> None:
        """The nurse answers, more often than chance would have it."""
        self.on(event)

    @rule(text=st.sampled_from(("read unconfirmed", "read last")))
    def read_again(self, text: str) -> None:
        """What was kept before is read to her."""
        self.on(heard(text))

    @rule()
    def start(self) -> None:
        """A leg is started."""
        self.on(CommandHeard(Talk.START_LEG))

    @rule(for_s=st.sampled_from([1.0, 11.0, 30.0]))
    def silence(self, for_s: float) -> None:
        """Nothing is said for a while."""
        self.on(TimePassed(), for_s)

    def on(self, event: Event, after_s: float = 1.0) -> None:
        """Let ``event`` happen, and hold its actions against the rules."""
        self.at_s += after_s
        before = self.state
        if isinstance(event, Mute):
            self.spoken = ""
        self.state, actions = step(before, event, self.at_s, WORDS)
        records = [action for action in actions if isinstance(action, Record)]
        assert len(records) <= 1 or not any(isinstance(r, StartLeg | EndLeg) for r in records)
        for action in records:
            self.check(action, event, actions, before)
        if not isinstance(event, Mute):
            self.leaves_nothing_in_silence(before, event, actions)
        self.write(records)
        self.heard_of = {one.number for one in self.state.waiting} or self.heard_of
        self.spoken = next((a.text for a in reversed(actions) if isinstance(a, Say)), self.spoken)

    def check(
        self, action: Record, event: Event, actions: tuple[Action, ...], before: DialogueState
    ) -> None:
        """What may be written when."""
        told = " ".join(said.text for said in actions if isinstance(said, Say))
        match action:
            case Confirm(number):
                assert event == CommandHeard(Talk.CONFIRM) or isinstance(event, ConfirmAndHeard)
                assert self.was_read_back(number)
                assert number in {one.number for one in before.waiting}
            case Withdraw(number, why):
                assert isinstance(event, WholeHeard) or event in TAKING_OUT
                assert (
                    self.was_read_back(number) if why == "no" else self.entry_words(number) in told
                )
                if not before.waiting and before.check is None:
                    self.undoes_what_was_told_last(number, before)
            case Keep(statement=statement, replaces=replaces):
                assert told_of(statement) in told
                if replaces is not None:
                    assert "correction" in told
                if isinstance(event, CorrectionHeard) and replaces is None:
                    assert "nothing to correct" in told
            case Remind(key=key, became="said", text=text):
                assert event == Reminder(key, text)
                assert text in told
            case Remind(key=key, minutes=minutes):
                assert isinstance(event, CommandHeard)
                assert key == before.reminded
                assert key.rule in told
                assert (minutes is None) == (event.talk is Talk.REMINDER_NOTED)
            case StartLeg() | EndLeg():
                assert isinstance(event, CommandHeard)

    def leaves_nothing_in_silence(
        self, before: DialogueState, event: Event, actions: tuple[Action, ...]
    ) -> None:
        """What waited and waits no more, and still counts unconfirmed, is told to be so or read later."""
        told = " ".join(said.text for said in actions if isinstance(said, Say))
        waits = {one.number for one in self.state.waiting}
        unconfirmed = {one.number for one in self.state.taken if not one.confirmed}
        for one in before.waiting:
            if one.number in unconfirmed - waits:
                later = one.number in (self.state.review or ()) or "left unconfirmed" in told
                assert later or self.entry_words(one.number) in told, event

    def undoes_what_was_told_last(self, number: int, before: DialogueState) -> None:
        """What is taken out is what she heard of last, if that still counts."""
        last = self.heard_of & {one.number for one in before.taken}
        assert not last or number in last

    def was_read_back(self, number: int) -> bool:
        """Whether an entry was read back last, or belongs to the answers that were asked about."""
        if "say confirm to keep" in self.spoken:
            return True  # each answer was read back when it was kept, see below
        return self.entry_words(number) in self.spoken

    def entry_words(self, number: int) -> str:
        """An entry as it is read back, from what the dialogue was told to keep."""
        (kept,) = [taken for taken in self.kept if taken.number == number]
        return WORDS.read_back(kept.statement)

    def write(self, records: list[Record]) -> None:
        """Do in the journal what the dialogue asks for; it refuses what cannot be."""
        match records:
            case []:
                return
            case [StartLeg()]:
                self.replay = Replay()
                self.kept: list[Keep] = []
                event: JournalEvent = LegStarted(
                    at=AT,
                    leg_id="a",
                    settings=SETTINGS,
                    grammar_digest="",
                    model_digest="",
                    program_version="",
                )
            case [EndLeg()]:
                event = LegEnded(at=AT)
            case [Remind(key, became, text)]:
                event = Reminded(at=AT, key=key, became=became, text=text)
            case [record]:
                event = self.written(record)
            case _:
                event = Together(at=AT, parts=tuple(map(self.written, records)))
        self.replay.add(event)

    def written(self, record: Record) -> Kept | Confirmed | Withdrawn:
        """A record as it is written."""
        match record:
            case Keep(number, text, statement, replaces):
                assert number == (self.kept[-1].number if self.kept else 0) + 1
                self.kept.append(record)
                return Kept(
                    at=AT,
                    number=number,
                    entry=statement.entry,
                    heard=text,
                    spoken_at=AT,
                    happened_at=AT,
                    replaces=replaces,
                )
            case Confirm(number):
                return Confirmed(at=AT, number=number)
            case Withdraw(number, why):
                return Withdrawn(at=AT, number=number, why=why)
        raise AssertionError(record)

    @invariant()
    def agrees_with_the_journal(self) -> None:
        """The talk and the journal's replay know the same entries in the same states."""
        if self.state.name is StateName.ASLEEP:
            return
        leg = self.replay.leg()
        counting = {e.number: e.state is EntryState.CONFIRMED for e in leg.entries if e.counts}
        assert {t.number: t.confirmed for t in self.state.taken} == counting

    @invariant()
    def goes_on_after_a_break(self) -> None:
        """The talk that is taken up from the journal remembers the same entries."""
        if self.state.name is StateName.ASLEEP:
            return
        resumed = DialogueState.resumed(self.replay.leg())
        assert resumed.next_number == self.state.next_number
        assert resumed.reminded == self.state.reminded
        for again, taken in zip(resumed.taken, self.state.taken, strict=True):
            assert again.number == taken.number
            assert again.confirmed == taken.confirmed
            assert again.statement == Statement(entry=taken.statement.entry)
            assert (again.corrects is None) == (taken.corrects is None)


AnyTalk.TestCase.settings = settings(max_examples=150, stateful_step_count=40)
TestAnyTalk = AnyTalk.TestCase
