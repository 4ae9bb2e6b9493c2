-- The figures across legs, each a view. All of them take the newest state of each leg.

CREATE VIEW legbook.leg AS
SELECT DISTINCT ON (leg) extract(epoch FROM ended_at - started_at)::double precision / 60 AS minutes, *
FROM legbook.received
ORDER BY leg, events DESC;
COMMENT ON VIEW legbook.leg IS 'A row a leg, as it was last sent.';

CREATE VIEW legbook.leg_entry AS
SELECT leg.leg, entry.*
FROM legbook.leg JOIN legbook.entry ON entry.received = leg.id;
COMMENT ON VIEW legbook.leg_entry IS 'The entries of each leg, as it was last sent.';

CREATE VIEW legbook.leg_clamp AS
SELECT leg.leg, clamp.period_number, clamp.reason, clamp.confirmed, clamp.end_at IS NULL AS still_clamped,
    extract(epoch FROM greatest(coalesce(clamp.end_at, leg.ended_at), clamp.start_at) - clamp.start_at)
        ::double precision / 60 AS minutes
FROM legbook.leg JOIN legbook.clamp_period AS clamp ON clamp.received = leg.id;
COMMENT ON VIEW legbook.leg_clamp IS
    'The times for which a drain was closed, in minutes; one without an end counts up to the end of the leg.';

CREATE VIEW legbook.leg_state AS
SELECT leg.leg, spell.rule, spell.until IS NULL AS still_holds,
    extract(epoch FROM greatest(least(coalesce(spell.until, leg.ended_at), leg.ended_at), spell.since)
        - spell.since)::double precision / 60 AS minutes
FROM legbook.leg JOIN legbook.state_spell AS spell ON spell.received = leg.id;
COMMENT ON VIEW legbook.leg_state IS
    'The times over which a state held, in minutes up to the end of the leg at most.';

CREATE VIEW legbook.report_leg AS
SELECT leg.leg, leg.minutes, leg.signed, leg.sealed, leg.may_teach,
    leg.not_understood, leg.program_version, leg.model_digest,
    told.*, clamped.*
FROM legbook.leg
CROSS JOIN LATERAL (
    SELECT count(*) AS entries,
        count(*) FILTER (WHERE put_down_by = 'voice') AS said,
        count(*) FILTER (WHERE entry_state = 'confirmed') AS confirmed,
        count(*) FILTER (WHERE entry_state = 'reviewed') AS reviewed,
        count(*) FILTER (WHERE entry_state = 'unconfirmed') AS unconfirmed,
        count(*) FILTER (WHERE entry_state = 'corrected') AS corrected,
        count(*) FILTER (WHERE entry_state = 'withdrawn') AS withdrawn,
        count(*) FILTER (
            WHERE put_down_by = 'voice' AND entry_replaces IS NOT NULL AND entry_state <> 'withdrawn'
        ) AS corrected_by_voice,
        count(*) FILTER (
            WHERE desk_reason = 'misheard' AND entry_replaces IS NOT NULL AND entry_counts
        ) AS misheard,
        count(*) FILTER (
            WHERE desk_reason = 'was missed' AND entry_replaces IS NULL AND entry_counts
        ) AS missed
    FROM legbook.entry WHERE entry.received = leg.id
) AS told
CROSS JOIN LATERAL (
    SELECT count(*) AS clamp_periods,
        coalesce(sum(clamp.minutes), 0) AS clamped_min,
        coalesce(sum(clamp.minutes) FILTER (WHERE NOT clamp.confirmed), 0) AS clamped_in_doubt_min,
        coalesce(max(clamp.minutes), 0) AS longest_clamp_min,
        count(*) FILTER (WHERE clamp.still_clamped) AS still_clamped
    FROM legbook.leg_clamp AS clamp WHERE clamp.leg = leg.leg
) AS clamped;
COMMENT ON VIEW legbook.report_leg IS 'A row a leg: how long, how many entries of which state, how long clamped.';

CREATE VIEW legbook.report_total AS
SELECT count(*) AS legs,
    count(*) FILTER (WHERE signed) AS signed_legs,
    count(*) FILTER (WHERE sealed) AS sealed_legs,
    count(*) FILTER (WHERE may_teach) AS teaching_legs,
    coalesce(sum(minutes), 0) AS minutes,
    coalesce(sum(entries), 0)::bigint AS entries,
    coalesce(sum(said), 0)::bigint AS said,
    coalesce(sum(confirmed), 0)::bigint AS confirmed,
    coalesce(sum(reviewed), 0)::bigint AS reviewed,
    coalesce(sum(unconfirmed), 0)::bigint AS unconfirmed,
    coalesce(sum(corrected), 0)::bigint AS corrected,
    coalesce(sum(withdrawn), 0)::bigint AS withdrawn,
    coalesce(sum(not_understood), 0)::bigint AS not_understood,
    coalesce(sum(corrected_by_voice), 0)::bigint AS corrected_by_voice,
    coalesce(sum(said) FILTER (WHERE signed), 0)::bigint AS said_on_signed,
    coalesce(sum(misheard) FILTER (WHERE signed), 0)::bigint AS misheard_on_signed,
    coalesce(sum(missed) FILTER (WHERE signed), 0)::bigint AS missed_on_signed,
    coalesce(sum(clamp_periods), 0)::bigint AS clamp_periods,
    coalesce(sum(clamped_min), 0) AS clamped_min,
    coalesce(sum(clamped_in_doubt_min), 0) AS clamped_in_doubt_min,
    coalesce(max(longest_clamp_min), 0) AS longest_clamp_min,
    coalesce(sum(still_clamped), 0)::bigint AS still_clamped
FROM legbook.report_leg;
COMMENT ON VIEW legbook.report_total IS 'One row: the sums over all legs.';

CREATE VIEW legbook.report_state AS
SELECT rule, count(*) AS times, count(DISTINCT leg) AS legs, sum(minutes) AS minutes,
    count(*) FILTER (WHERE still_holds) AS still_hold
FROM legbook.leg_state GROUP BY rule;
COMMENT ON VIEW legbook.report_state IS 'A row a state of docs/consequences.md: how often, on how many legs, how long.';

CREATE VIEW legbook.report_reminder AS
SELECT turn.rule,
    count(*) FILTER (WHERE turn.became = 'said') AS said,
    count(*) FILTER (WHERE turn.became = 'acknowledged') AS acknowledged,
    count(*) FILTER (WHERE turn.became = 'postponed') AS postponed,
    count(DISTINCT leg.leg) AS legs
FROM legbook.leg JOIN legbook.reminder_turn AS turn ON turn.received = leg.id
GROUP BY turn.rule;
COMMENT ON VIEW legbook.report_reminder IS 'A row a reminder of docs/reminders.md: how often said and answered.';

CREATE VIEW legbook.report_confusion AS
SELECT confusion.meant, confusion.heard, count(*) AS times, count(DISTINCT leg.leg) AS legs
FROM legbook.leg JOIN legbook.confusion ON confusion.received = leg.id
GROUP BY confusion.meant, confusion.heard;
COMMENT ON VIEW legbook.report_confusion IS 'A row for each phrase and what was heard in its place.';
