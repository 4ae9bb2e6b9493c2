-- Legs as they were sent. Nothing is ever changed here: a leg that went on, at the reviewer's desk,
-- is sent again whole, and stands beside what was sent before. The views take the newest.
--
-- No leg can be traced to a patient by what is here alone: see voice/report/export/identity.py. Every leg
-- begins on 1 January 2000; the time of day is that of the leg's own clock, given as UTC.

CREATE TABLE legbook.received (
    id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    leg text NOT NULL CHECK (leg ~ '^[0-9a-f]{64}$'),
    events bigint NOT NULL CHECK (events > 0),
    mark text NOT NULL CHECK (mark ~ '^[0-9a-f]{64}$'),
    received_in date NOT NULL DEFAULT date_trunc('month', now() AT TIME ZONE 'UTC'),
    program_version text NOT NULL,
    grammar_digest text NOT NULL,
    model_digest text NOT NULL,
    pressure_unit text NOT NULL,
    started_at timestamptz NOT NULL,
    ended_at timestamptz NOT NULL,
    sealed boolean NOT NULL,
    signed boolean NOT NULL,
    may_teach boolean NOT NULL,
    not_understood bigint NOT NULL,
    passed_over bigint NOT NULL,
    UNIQUE (leg, events)
);
COMMENT ON TABLE legbook.received IS 'Each state of each leg that was sent; a row is there once all of it is.';
COMMENT ON COLUMN legbook.received.leg IS 'Which leg: a code by which it is known again; see voice/collect/code.py.';
COMMENT ON COLUMN legbook.received.events IS 'How many events the journal had then.';
COMMENT ON COLUMN legbook.received.mark IS 'Stands for all of the journal up to there.';
COMMENT ON COLUMN legbook.received.received_in IS 'The month in which it came: the day would tell when the leg was.';
COMMENT ON COLUMN legbook.received.grammar_digest IS 'Which phrases were legal when the leg began.';
COMMENT ON COLUMN legbook.received.model_digest IS 'Which acoustic model heard it when the leg began.';
COMMENT ON COLUMN legbook.received.may_teach IS 'Whether the reviewer lets misheard phrases be told.';
COMMENT ON COLUMN legbook.received.not_understood IS 'Stretches of speech that could not be made out.';
COMMENT ON COLUMN legbook.received.passed_over IS 'Stretches of speech that were taken for other talk.';

CREATE TABLE legbook.entry (
    received bigint NOT NULL REFERENCES legbook.received ON DELETE CASCADE,
    entry_number bigint NOT NULL,
    entry_state text NOT NULL,
    entry_counts boolean NOT NULL,
    entry_was_confirmed boolean NOT NULL,
    entry_replaces bigint,
    entry_replaced_by bigint,
    entry_marks text,
    entry_desk_act text,
    happened_at timestamptz NOT NULL,
    after_start_s double precision,
    spoken_at timestamptz NOT NULL,
    written text,
    kind text NOT NULL,
    value double precision,
    unit text,
    state text,
    level_cmh2o double precision,
    reference text,
    level_mmhg double precision,
    volume_ml double precision,
    fill text,
    by text,
    colour text,
    clarity text,
    reason text,
    month bigint,
    day text,
    hour bigint,
    minute bigint,
    step text,
    "where" text,
    position text,
    design text,
    fits boolean,
    there boolean,
    side text,
    count bigint,
    minutes bigint,
    value_mmhg bigint,
    hours bigint,
    drug text,
    rate_per_min bigint,
    systolic_mmhg bigint,
    diastolic_mmhg bigint,
    percent bigint,
    value_kpa double precision,
    value_celsius double precision,
    value_fahrenheit double precision,
    equal boolean,
    size_mm bigint,
    reaction text,
    total bigint,
    eyes bigint,
    verbal text,
    motor bigint,
    limb text,
    movement text,
    strength bigint,
    angle_deg bigint,
    score bigint,
    event text,
    mode text,
    volume_l_per_min double precision,
    value_cmh2o bigint,
    fluid text,
    product text,
    dose double precision,
    rate double precision,
    analyte text,
    mark text,
    role text,
    vehicle text,
    altitude_ft bigint,
    whom text,
    "to" text,
    "check" text,
    item text,
    answer text,
    put_down_by text NOT NULL,
    desk_reason text,
    PRIMARY KEY (received, entry_number)
);
COMMENT ON TABLE legbook.entry IS 'The entries, as in an export without identity: docs/export-columns.md.';
COMMENT ON COLUMN legbook.entry.put_down_by IS 'voice: said on the leg; desk: put down by a reviewer.';
COMMENT ON COLUMN legbook.entry.desk_reason IS 'Why at the desk: misheard, was missed, or other.';

CREATE TABLE legbook.clamp_period (
    received bigint NOT NULL REFERENCES legbook.received ON DELETE CASCADE,
    period_number bigint NOT NULL,
    start_at timestamptz NOT NULL,
    end_at timestamptz,
    reason text,
    confirmed boolean NOT NULL,
    PRIMARY KEY (received, period_number)
);
COMMENT ON TABLE legbook.clamp_period IS 'The times for which the drain was closed.';
COMMENT ON COLUMN legbook.clamp_period.end_at IS 'Empty: still clamped when the leg ended.';
COMMENT ON COLUMN legbook.clamp_period.confirmed IS 'Whether somebody stands for both its ends.';

CREATE TABLE legbook.state_spell (
    received bigint NOT NULL REFERENCES legbook.received ON DELETE CASCADE,
    rule text NOT NULL,
    spell_number bigint NOT NULL,
    since timestamptz NOT NULL,
    until timestamptz,
    entry_number bigint,
    PRIMARY KEY (received, rule, spell_number)
);
COMMENT ON TABLE legbook.state_spell IS 'The times over which a state of docs/consequences.md held.';
COMMENT ON COLUMN legbook.state_spell.until IS 'Empty: it held when the leg ended.';

CREATE TABLE legbook.reminder_turn (
    received bigint NOT NULL REFERENCES legbook.received ON DELETE CASCADE,
    turn_number bigint NOT NULL,
    rule text NOT NULL,
    became text NOT NULL,
    at timestamptz NOT NULL,
    PRIMARY KEY (received, turn_number)
);
COMMENT ON TABLE legbook.reminder_turn IS 'What became of reminders (docs/reminders.md): said, acknowledged, postponed.';

CREATE TABLE legbook.confusion (
    received bigint NOT NULL REFERENCES legbook.received ON DELETE CASCADE,
    confusion_number bigint NOT NULL,
    meant text NOT NULL,
    heard text,
    PRIMARY KEY (received, confusion_number)
);
COMMENT ON TABLE legbook.confusion IS 'Phrases that a reviewer found misheard, of legs that may teach.';
COMMENT ON COLUMN legbook.confusion.heard IS 'What was heard instead; empty: nothing was made out.';
