-- A free note is kept as sound: nothing of it was made out that could be wrong, so nobody confirms it. It
-- counts as a note, and no longer among the entries by state. What was sent stays as it is.

CREATE OR REPLACE VIEW legbook.report_leg AS
SELECT leg.leg, leg.minutes, leg.signed, leg.sealed, leg.may_teach,
    leg.not_understood, leg.program_version, leg.model_digest,
    told.entries, told.said, told.confirmed, told.reviewed, told.unconfirmed, told.corrected, told.withdrawn,
    told.corrected_by_voice, told.misheard, told.missed,
    clamped.*,
    told.notes
FROM legbook.leg
CROSS JOIN LATERAL (
    SELECT count(*) AS entries,
        count(*) FILTER (WHERE put_down_by = 'voice') AS said,
        count(*) FILTER (WHERE entry_state = 'confirmed' AND kind <> 'spoken_note') AS confirmed,
        count(*) FILTER (WHERE entry_state = 'reviewed' AND kind <> 'spoken_note') AS reviewed,
        count(*) FILTER (WHERE entry_state = 'unconfirmed' AND kind <> 'spoken_note') AS unconfirmed,
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
        ) AS missed,
        count(*) FILTER (WHERE kind = 'spoken_note' AND entry_counts) AS notes
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

CREATE OR REPLACE VIEW legbook.report_total AS
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
    coalesce(sum(still_clamped), 0)::bigint AS still_clamped,
    coalesce(sum(notes), 0)::bigint AS notes
FROM legbook.report_leg;
