"""Train the network.

    python -m voice.acoustics.training SPEECH_FOLDER... --noise NOISE_FOLDER --out CHECKPOINT

Two losses: CTC over the phones of each utterance, and a contrast between what was said and a few
phrases that are easily heard instead (`voice.acoustics.competitors`, `voice.acoustics.mishearing`); for talk that
is no command the unknown word, as the listener weighs it, stands in the place of what was said. The weights that are kept
are the running average over the last thousands of steps. docs/training-the-model.md goes through
it step by step.
"""

from __future__ import annotations

import argparse
import itertools
import logging
import math
import random
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import torch
from torch.nn import functional
from torch.nn.utils.rnn import pad_sequence

from voice.acoustics import augmentation, corpus, features, network, taken_for
from voice.acoustics.competitors import Competitors, phone_distance, phones_of
from voice.acoustics.examples import batches, prepare
from voice.acoustics.export import PRIOR_EXPONENT, SMALLEST_PRIOR
from voice.acoustics.features import SAMPLE_RATE, STEP, LogMel
from voice.acoustics.graph import UNKNOWN_PHONE_COST
from voice.acoustics.lexicon import known_words
from voice.acoustics.topology import BLANK, OUTPUT, OUTPUTS
from voice.hearing.listener import UNKNOWN_PER_S

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.acoustics.corpus import Corpus, Utterance
    from voice.acoustics.examples import Examples
    from voice.acoustics.lexicon import Lexicon

log = logging.getLogger("training")

SPLICED = 9000
"""Phrases put together from one person's single words."""
_COMMAND_TIMES = 30
"""A word in so many short utterances is a command word, and may be a competitor."""
COMPETITORS = 3
"""Competitors drawn for an utterance at each step."""
CONTRAST_MARGIN = 6.0
"""By how much (nats) what was said should beat its competitors together."""
NEAREST_TO_TALK = 5
"""Phrases, each in one pronunciation, that are kept as competitors of a piece of talk."""
TALK_MARGIN = 6.0
"""By how much (nats) other speech should beat the phrases that were taken for it, together: as the
listener weighs it, by the unknown word."""
DROPOUT = 0.1
ENTROPY_BONUS = 0.15
"""What a nat of uncertainty in one output is worth, so that no output becomes surer than it may be:
it holds the likeliest phone at most some 7 nats above the next (Pereyra and others, "Regularizing
neural networks by penalizing confident output distributions", 2017; from memory)."""
AVERAGE_DECAY = 0.999
WARM_UP_STEPS = 500
REALIGN_AT = (0.15, 0.4)
"""When, as parts of the training, each utterance's pronunciation is chosen anew."""
_LISTENED_TO = 640
_BEYOND_REPAIR = 25.0
_NEVER = -1e4
_LENGTH_STEP = SAMPLE_RATE // 2
"""Batches have whole numbers of these samples: each new shape costs planning time."""
_LEAD, _TAIL = SAMPLE_RATE // 3, SAMPLE_RATE * 2 // 3
"""The longest time before and after an utterance; the detector keeps about as much."""
LOOK_EVERY_STEPS = 1000
"""How often the voices kept out are heard; the weights that hear them best are kept."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What the network is given."""

    energies: torch.Tensor
    steps: torch.Tensor
    """How many outputs of the network each row fills."""
    spoken_s: torch.Tensor
    """How long is spoken in each row."""


class Trainer:
    """The network in training and all that it needs, on one device."""

    def __init__(
        self,
        speech: Corpus,
        examples: Examples,
        noises: augmentation.Noises,
        size: network.Size,
        talk_weight: float = 1.0,
    ) -> None:
        self.device = noises.recorded.device
        self.sound = torch.from_numpy(speech.sound).to(self.device)
        self.examples = examples
        self.noises = noises
        self.logmel = LogMel().to(self.device)
        self.net = network.PhoneNetwork(size).to(self.device)
        self.average = network.PhoneNetwork(size).to(self.device).eval()
        self.prior_logs = torch.full((OUTPUTS,), -math.log(OUTPUTS), device=self.device)
        """Of the outputs' priors, as they were before the training."""
        self.talk_weight = torch.tensor(talk_weight, device=self.device)

    def heard(self, batch: torch.Tensor, *, disturbed: bool, of: Examples | None = None) -> Batch:
        """The sounds of some rows as the network is to hear them."""
        examples = of or self.examples
        samples, start = examples.samples[batch], examples.start[batch]
        if disturbed:
            speed = torch.empty(len(batch)).uniform_(*augmentation.SPEED)
            lead = torch.randint(0, _LEAD, (len(batch),))
            tail = torch.randint(0, _TAIL, (len(batch),))
        else:
            speed = torch.ones(len(batch))
            lead = tail = torch.full_like(samples, SAMPLE_RATE // 10)
        spoken = (samples / speed).long()
        ends = lead + spoken
        length = math.ceil(int((ends + tail).max()) / _LENGTH_STEP) * _LENGTH_STEP
        begin, place = start - (lead * speed).long(), torch.arange(length, device=self.device)
        x = augmentation.take(self.sound, begin.to(self.device), speed.to(self.device), length)
        speaking = place >= lead.to(self.device)[:, None]
        speaking &= place < ends.to(self.device)[:, None]
        x = x * speaking
        if disturbed:
            x = augmentation.disturb(x, speaking.float(), self.noises)
        energies = self.logmel(x)
        frames = 1 + (ends + tail - features.WINDOW).div(STEP, rounding_mode="floor")
        spoken_s = spoken / SAMPLE_RATE
        if disturbed:
            energies = augmentation.warped(energies)
            if torch.rand(()) < augmentation.STRETCHED_SHARE:
                factor = torch.empty(len(batch)).uniform_(*augmentation.STRETCH)
                energies = augmentation.stretched(energies, factor)
                frames = (frames * factor).long()
                spoken_s = spoken_s * factor
            energies = augmentation.masked(energies)
        return Batch(energies, (frames + 2) // network.SUBSAMPLING, spoken_s)

    def measure_inputs(self) -> None:
        """Let the network normalise by the mean and deviation of what it will hear."""
        with torch.no_grad():
            heard = [
                self.heard(b, disturbed=True).energies.flatten(0, 1)
                for b in itertools.islice(batches(self.examples), 8)
            ]
            frames = torch.cat(heard)
        for net in (self.net, self.average):
            net.mean.copy_(frames.mean(0))
            net.istd.copy_(1 / frames.std(0))

    def losses(
        self, batch: torch.Tensor, contrast: float, of: Examples | None = None
    ) -> tuple[torch.Tensor, torch.Tensor]:
        """CTC (less the bonus) and contrast, each a sum over the batch divided by its phones."""
        examples = of or self.examples
        heard = self.heard(batch, disturbed=True, of=of)
        steps = heard.steps
        with torch.autocast(self.device.type, torch.bfloat16):
            logits = (self.average if of else self.net).logits(heard.energies, DROPOUT)
        logs = functional.log_softmax(logits.float(), -1)
        rows = batch.tolist()
        said = [examples.phones[row] for row in rows]
        count = sum(map(len, said))
        others: list[torch.Tensor] = []
        whose: list[int] = []
        if contrast:
            for place, row in enumerate(rows):
                pool = examples.rivals[row]
                for phones in random.sample(pool, min(COMPETITORS, len(pool))):
                    others.append(phones)
                    whose.append(place)
        which = torch.tensor([*range(len(rows)), *whose])
        negative_log = ctc(logs[which.to(self.device)], steps[which], [*said, *others])
        labelled = torch.tensor([len(phones) > 0 for phones in said], device=self.device)
        own_loss = negative_log[: len(rows)] * labelled
        filled = (torch.arange(logs.shape[1]) < steps[:, None]).to(self.device)
        entropy = -(logs.exp() * logs).sum(-1)[filled & labelled[:, None]]
        ctc_loss = (own_loss.sum() - ENTROPY_BONUS * entropy.sum()) / count
        if not others:
            return ctc_loss, own_loss.new_zeros(())
        likelihood = -negative_log[len(rows) :]
        talk = examples.talk[batch]
        bonus = self.prior_bonus(others, steps[whose]) * talk[whose]
        # 0: does not fit into the time
        likelihood = torch.where(likelihood == 0, _NEVER, likelihood + bonus.to(self.device))
        turns = [len(list(group)) for _, group in itertools.groupby(whose)]
        slot = torch.tensor([k for turn in turns for k in range(turn)])
        rival = torch.full((len(rows), COMPETITORS), _NEVER, device=self.device)
        rival = rival.index_put(
            (torch.tensor(whose).to(self.device), slot.to(self.device)), likelihood
        )
        talk = talk.to(self.device)
        spoken_s = heard.spoken_s.to(self.device)
        unknown = self.unknown(logs.detach(), filled) + UNKNOWN_PER_S * spoken_s
        to_beat = torch.where(talk, unknown - TALK_MARGIN, -own_loss - CONTRAST_MARGIN)
        # what is lost beyond repair must not outweigh the rest
        gap = (rival.logsumexp(1) - to_beat).clamp(max=_BEYOND_REPAIR)
        weight = torch.where(talk, self.talk_weight, (own_loss > 0).float())
        return ctc_loss, contrast * (functional.softplus(gap) * weight).sum() / count

    def unknown(self, logs: torch.Tensor, filled: torch.Tensor) -> torch.Tensor:
        """What the unknown word scores in each row, from below: the likeliest phones, each at its cost."""
        scaled = logs - PRIOR_EXPONENT * self.prior_logs
        likeliest, which = scaled.max(-1)
        before = functional.pad(which[:, :-1], (1, 0), value=BLANK)
        begun = (which != BLANK) & (which != before) & filled
        cost = torch.full((OUTPUTS,), UNKNOWN_PHONE_COST, device=logs.device)
        cost[BLANK] = 0
        freely = (likeliest * filled).sum(1) - UNKNOWN_PHONE_COST * begun.sum(1)
        sparingly = ((scaled - cost).max(-1).values * filled).sum(1)
        return torch.maximum(freely, sparingly)

    def prior_bonus(self, phones: list[torch.Tensor], steps: torch.Tensor) -> torch.Tensor:
        """What the priors add to each row of phones when Kaldi decodes it, each phone one output long."""
        logs = self.prior_logs.cpu()
        lengths = torch.tensor([len(some) for some in phones])
        whose = torch.arange(len(phones)).repeat_interleave(lengths)
        spoken = torch.zeros(len(phones)).index_add(0, whose, logs[torch.cat(phones)])
        return -PRIOR_EXPONENT * (spoken + (steps - lengths) * logs[BLANK])

    def follow(self, decay: float) -> None:
        """Move the average towards the network."""
        with torch.no_grad():
            for kept, new in zip(
                self.average.state_dict().values(), self.net.state_dict().values(), strict=True
            ):
                if kept.is_floating_point():
                    kept.lerp_(new, 1 - decay)

    def look(self, kept_out: Examples) -> tuple[float, float]:
        """Both losses of the average network on voices kept out, disturbed alike at every look."""
        state = random.getstate()
        random.seed(0)
        with torch.random.fork_rng(), torch.no_grad():
            torch.manual_seed(0)
            order = kept_out.samples.argsort()
            found = [self.losses(rows, 1.0, kept_out) for rows in order.split(64)]
        random.setstate(state)
        ctc_loss, contrast_loss = torch.tensor(found).mean(0).tolist()
        return ctc_loss, contrast_loss

    def realign(self) -> int:
        """Choose for every utterance the pronunciation that the average network hears best."""
        several = [row for row, ways in enumerate(self.examples.spoken) if len(ways) > 1]
        several.sort(key=lambda row: int(self.examples.samples[row]))
        changed = 0
        for first in range(0, len(several), 128):
            rows = several[first : first + 128]
            with torch.no_grad():
                heard = self.heard(torch.tensor(rows), disturbed=False)
                steps = heard.steps
                logs = functional.log_softmax(self.average.logits(heard.energies), -1)
                ways = [self.examples.spoken[row] for row in rows]
                whose = torch.tensor([i for i, some in enumerate(ways) for _ in some])
                flat = [way for some in ways for way in some]
                cost = iter(ctc(logs[whose.to(self.device)], steps[whose], flat).tolist())
            for row, some in zip(rows, ways, strict=True):
                best = min(range(len(some)), key=[next(cost) for _ in some].__getitem__)
                changed += not torch.equal(self.examples.phones[row], some[best])
                self.examples.phones[row] = some[best]
        return changed

    def keep_nearest(self) -> None:
        """Of what was taken for each piece of talk, keep the phrases that the average network hears best."""
        rivals = self.examples.rivals
        rows = [row for row in self.examples.talk.nonzero().ravel().tolist() if rivals[row]]
        rows.sort(key=lambda row: int(self.examples.samples[row]))
        for first in range(0, len(rows), 32):
            some = rows[first : first + 32]
            with torch.no_grad():
                heard = self.heard(torch.tensor(some), disturbed=False)
                logs = functional.log_softmax(self.average.logits(heard.energies), -1)
                flat = [phones for row in some for phones in rivals[row]]
                whose = torch.tensor([i for i, row in enumerate(some) for _ in rivals[row]])
                cost = ctc(logs[whose.to(self.device)], heard.steps[whose], flat).cpu()
                cost -= self.prior_bonus(flat, heard.steps[whose])
            for place, row in enumerate(some):
                own = cost[whose == place].argsort()[:NEAREST_TO_TALK].tolist()
                rivals[row] = [rivals[row][i] for i in own]

    def priors(self) -> torch.Tensor:
        """How often each output is given, over disturbed training speech."""
        total = torch.zeros(OUTPUTS, device=self.device)
        with torch.no_grad():
            for batch in itertools.islice(batches(self.examples), 20):
                heard = self.heard(batch, disturbed=True)
                likelihood = self.average(heard.energies).exp()
                valid = torch.arange(likelihood.shape[1]) < heard.steps[:, None]
                total += (likelihood * valid[:, :, None].to(self.device)).sum((0, 1))
        return total / total.sum()

    def phone_errors(self, tests: dict[str, list[Utterance]], lexicon: Lexicon) -> dict[str, float]:
        """Percent of phones heard wrongly without any grammar, clean, by kind of voice."""
        found = {}
        for name, utterances in tests.items():
            wrong = phones = 0
            for u in utterances:
                expected = phones_of(u.text, lexicon, random.Random(0))
                if not expected:
                    continue
                x = self.sound[u.start : u.start + u.samples].float()
                with torch.no_grad():
                    best = self.average(self.logmel(x[None]))[0].argmax(-1).tolist()
                heard = [
                    a for a, b in zip(best, [BLANK, *best], strict=False) if a not in (BLANK, b)
                ]
                wrong += phone_distance([str(h) for h in heard], [str(OUTPUT[p]) for p in expected])
                phones += len(expected)
            found[name] = round(100 * wrong / max(1, phones), 1)
        return found


def ctc(logs: torch.Tensor, steps: torch.Tensor, phones: list[torch.Tensor]) -> torch.Tensor:
    """Negative log-likelihood of each row's phones; 0 where they do not fit into its time."""
    lengths = torch.tensor([len(p) for p in phones])
    padded = pad_sequence(phones, batch_first=True).to(logs.device)
    return functional.ctc_loss(
        logs.transpose(0, 1), padded, steps.clamp(max=logs.shape[1]), lengths,
        blank=BLANK, reduction="none", zero_infinity=True,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Schedule:
    """How long and how fast to learn."""

    steps: int
    minutes: float
    """Whichever ends first."""
    rate: float
    contrast: float
    realign_at: tuple[float, ...]

    def rate_at(self, done: float) -> float:
        """Flat for 30 %, then down along a cosine."""
        fall = max(0.0, (done - 0.3) / 0.7)
        return self.rate * (0.5 * (1 + math.cos(math.pi * fall)) + 0.002)


def train(
    trainer: Trainer, schedule: Schedule, kept_out: Examples, keep: Callable[[], None]
) -> None:
    """Train until the schedule ends; call ``keep`` when the voices kept out are heard best so far."""
    optimiser = torch.optim.AdamW(
        trainer.net.parameters(), lr=schedule.rate, weight_decay=1e-2, betas=(0.9, 0.98)
    )
    started, step, due = time.monotonic(), 0, list(schedule.realign_at)
    sums, last = torch.zeros(2, device=trainer.device), 0
    best = math.inf
    trainer.net.train()
    for batch in itertools.chain.from_iterable(
        batches(trainer.examples) for _ in itertools.count()
    ):
        elapsed = time.monotonic() - started
        done = max(step / schedule.steps, elapsed / 60 / schedule.minutes)
        if done >= 1:
            break
        if due and done >= due[0]:
            log.info("%d pronunciations changed", trainer.realign())
            del due[0]
        for group in optimiser.param_groups:
            group["lr"] = schedule.rate_at(done) * min(1, (step + 1) / WARM_UP_STEPS)
        ctc_loss, contrast_loss = trainer.losses(batch, schedule.contrast * min(1, done / 0.2))
        optimiser.zero_grad(set_to_none=True)
        (ctc_loss + contrast_loss).backward()
        torch.nn.utils.clip_grad_norm_(trainer.net.parameters(), 1.0)
        optimiser.step()
        step += 1
        trainer.follow(min(AVERAGE_DECAY, step / (step + 10)))
        sums += torch.stack([ctc_loss.detach(), contrast_loss.detach()])
        if step % 500 == 0:
            means = (sums / (step - last)).tolist()
            sums.zero_()
            last = step
            log.info(
                "step %d, %.0f s, %.0f %%: CTC %.3f, contrast %.3f a phone",
                step, elapsed, 100 * done, *means,
            )  # fmt: skip
        if step % LOOK_EVERY_STEPS == 0:
            best = _look(trainer, kept_out, best, keep)
    log.info("%d steps in %.0f s", step, time.monotonic() - started)
    _look(trainer, kept_out, best, keep)


def _look(trainer: Trainer, kept_out: Examples, best: float, keep: Callable[[], None]) -> float:
    """Hear the voices kept out, keep the weights if they are the best, and return the best sum.

    Where no voice is kept out, the last weights are kept.
    """
    if not len(kept_out):
        keep()
        return best
    ctc_loss, contrast_loss = trainer.look(kept_out)
    log.info("  voices kept out: CTC %.3f, contrast %.3f a phone", ctc_loss, contrast_loss)
    if ctc_loss + contrast_loss >= best:
        return best
    keep()
    return ctc_loss + contrast_loss


def listened_to(speech: Corpus) -> list[Utterance]:
    """Utterances of voices kept out, to choose by; none of the tests' voices is among them."""
    chosen = [
        u
        for u in speech.utterances
        if u.held_out and u.set.startswith(("synthetic-neural", "human-wuw2"))
    ]
    return random.Random(0).sample(chosen, min(_LISTENED_TO, len(chosen)))


def development_sets(speech: Corpus) -> dict[str, list[Utterance]]:
    """A hundred utterances of each kind of voice that is kept out of training."""
    sets: dict[str, list[Utterance]] = {}
    for u in speech.utterances:
        if u.held_out:
            name = u.voice.split("_")[0] if u.set.startswith("synthetic") else u.set
            sets.setdefault(name, []).append(u)
    return {name: random.Random(0).sample(us, min(100, len(us))) for name, us in sets.items()}


def _arguments() -> argparse.Namespace:
    usual = network.Size()
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("speech", type=Path, nargs="+", help="folders of speech")
    parser.add_argument("--noise", type=Path, required=True, help="folder of helicopter recordings")
    parser.add_argument("--out", type=Path, required=True, help="the checkpoint to write")
    parser.add_argument("--begin-with", type=Path, nargs="+", help="go on from the mean of these")
    parser.add_argument("--steps", type=int, default=15_000)
    parser.add_argument("--minutes", type=float, default=math.inf)
    parser.add_argument("--rate", type=float, default=2.5e-3)
    parser.add_argument("--contrast", type=float, default=1.0, help="weight; 0 for CTC alone")
    parser.add_argument("--misheard", type=Path, nargs="*", default=[], help="competitors heard")
    parser.add_argument("--talk", type=float, default=1.0, help="weight of talk in the contrast")
    parser.add_argument("--width", type=int, default=usual.d)
    parser.add_argument("--bottleneck", type=int, default=usual.bott)
    parser.add_argument("--layers", type=int, default=usual.nhigh)
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args()


def main() -> None:
    """Read, train, keep."""
    arguments = _arguments()
    logging.basicConfig(level=logging.INFO, format="%(message)s")

    random.seed(arguments.seed)
    torch.manual_seed(arguments.seed)
    rng = random.Random(arguments.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")

    speech = corpus.spliced(corpus.Corpus.read(arguments.speech), SPLICED, rng)
    training = [u for u in speech.utterances if not u.held_out]
    misheard = [one for path in arguments.misheard for one in taken_for.read(path)]
    texts = [u.text for u in speech.utterances] + [p for one in misheard for p in one.phrases]
    lexicon = known_words(word for text in texts for word in text.split())
    short = [u for u in training if len(u.text.split()) < 5 and u.set != "synthetic-talk"]
    said = Counter(word for u in short for word in u.text.split())
    commands = [word for word, times in said.items() if times >= _COMMAND_TIMES]
    competitors = Competitors.among(commands, lexicon)
    examples = prepare(training, lexicon, competitors, rng, misheard)
    kept_out = prepare(listened_to(speech), lexicon, competitors, random.Random(0))
    hours = int(examples.samples.sum()) / SAMPLE_RATE / 3600
    log.info("%d utterances, %.1f h; %d command words", len(examples), hours, len(commands))
    log.info("%d of them talk", int(examples.talk.sum()))

    noise = np.tile(corpus.read_noise(arguments.noise, held_out=False), 2)
    babble = np.concatenate([speech.sound_of(u) for u in training[:: len(training) // 2000 or 1]])
    noises = augmentation.Noises(
        torch.from_numpy(noise).to(device), torch.from_numpy(babble).to(device)
    )
    if arguments.begin_with:
        before, priors = network.load(*arguments.begin_with)
        trainer = Trainer(speech, examples, noises, before.size, arguments.talk)
        trainer.prior_logs.copy_(priors.clamp(min=SMALLEST_PRIOR).log())
        trainer.net.load_state_dict(before.state_dict())
        trainer.average.load_state_dict(before.state_dict())
        log.info("%d pronunciations changed", trainer.realign())
        trainer.keep_nearest()
    else:
        size = network.Size(d=arguments.width, bott=arguments.bottleneck, nhigh=arguments.layers)
        trainer = Trainer(speech, examples, noises, size, arguments.talk)
        trainer.measure_inputs()
    log.info("%d weights", sum(p.numel() for p in trainer.net.parameters()))

    train(
        trainer,
        Schedule(
            steps=arguments.steps,
            minutes=arguments.minutes,
            rate=arguments.rate,
            contrast=arguments.contrast,
            realign_at=() if arguments.begin_with else REALIGN_AT,
        ),
        kept_out,
        lambda: network.save(arguments.out, trainer.average, trainer.priors()),
    )
    log.info("phone errors in %%: %s", trainer.phone_errors(development_sets(speech), lexicon))


if __name__ == "__main__":
    main()
