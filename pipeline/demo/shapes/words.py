"""What the clinics call programs and stop reasons: words and codes of their own, all invented."""

from pipeline.demo import programs

UNKNOWN_OTHERWISE = 'otherwise = "=unknown"'
"""A reason that nobody has mapped is no reason to hold the line."""

# ours | words on paper | letters in the worksheet; the number in JSON is the row, from 100
_TABLE = """
operator_stop_before_hold     | stop key before hold            | Op-1
operator_stop_in_hold         | stop key in hold                | Op-2
operator_stop_drying          | stop key while drying           | Op-3
door_not_closed               | door not shut                   | Op-4
door_opened_early             | door pulled early               | Op-5
low_water                     | water low                       | Ut-1
waste_tank_full               | waste full                      | Ut-2
water_quality_high            | water quality                   | Ut-3
power_loss                    | mains lost                      | Ut-4
heat_up_timeout               | heating too slow                | Eq-1
vacuum_not_reached            | no vacuum                       | Eq-2
air_leak                      | air leak                        | Eq-3
door_leak                     | door leak                       | Eq-4
temp_drop_in_hold             | temperature fell                | Eq-5
over_temperature              | too hot                         | Eq-6
over_pressure                 | pressure high                   | Eq-7
temperature_pressure_mismatch | temperature and pressure differ | Eq-8
sensor_fault                  | sensor                          | Eq-9
drying_fault                  | not dry                         | Eq-10
vent_fault                    | no venting                      | Eq-11
drain_blocked                 | drain                           | Eq-12
unknown                       | ?                               | ??
"""
_ROWS = [[cell.strip() for cell in line.split("|")] for line in _TABLE.strip().splitlines()]

PLAIN_REASONS = {ours: plain for ours, plain, _ in _ROWS}
LETTERED_REASONS = {ours: letters for ours, _, letters in _ROWS}
NUMBERED_REASONS = {row[0]: str(number) for number, row in enumerate(_ROWS, start=100)}
TITLED_PROGRAMS = {one.name: one.name.replace("_", " ").capitalize() for one in programs.PROGRAMS}
NUMBERED_PROGRAMS = {one.name: str(number) for number, one in enumerate(programs.PROGRAMS, 1)}
