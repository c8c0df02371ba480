-- The latest checks of a rig ($1), at most so many ($2).
SELECT session, checked, minutes_ahead, plugged, through, calibration, division, drifted
FROM rig_check JOIN asked_record AS record ON record.id = rig_check.record AND record.bench = rig_check.bench
WHERE rig_check.rig = $1
ORDER BY checked DESC, rig_check.record DESC, n DESC
LIMIT $2
