-- model.stop_reason
-- One row for each reason why a cycle ended early, with the family that it counts towards.
-- Common practice, no source: there is no public list of reasons for tabletop units.
-- key: stop_reason
-- rebuilt: whole
--
-- stop_family   operator, equipment, utility, not_known
SELECT stop_reason, stop_family,
FROM (
    VALUES
        ('operator_stop_before_hold', 'operator'),
        ('operator_stop_in_hold', 'operator'),
        ('operator_stop_drying', 'operator'),
        ('door_not_closed', 'operator'),
        ('door_opened_early', 'operator'),
        ('power_loss', 'utility'),
        ('low_water', 'utility'),
        ('waste_tank_full', 'utility'),
        ('water_quality_high', 'utility'),
        ('heat_up_timeout', 'equipment'),
        ('vacuum_not_reached', 'equipment'),
        ('air_leak', 'equipment'),
        ('door_leak', 'equipment'),
        ('temp_drop_in_hold', 'equipment'),
        ('over_temperature', 'equipment'),
        ('over_pressure', 'equipment'),
        ('temperature_pressure_mismatch', 'equipment'),
        ('sensor_fault', 'equipment'),
        ('drying_fault', 'equipment'),
        ('vent_fault', 'equipment'),
        ('drain_blocked', 'equipment'),
        ('recorder_lost', 'not_known'),
        ('unknown', 'not_known'),
) AS listed (stop_reason, stop_family)
