"""What each rule of the motion model makes of the speeds of the tick before, for many ticks at once."""

from reach.kernels.compiling import compiled
from reach.kernels.step import air_speed, air_vy, ground_speed, takeoff_vy

WALKING, RUNNING, FLYING, TAKING_OFF, RISING_OR_FALLING = range(5)
COLUMNS = 5


@compiled
def fill_next_speeds(vx, vy, direction, jump, held, takeoff, speeds, motion):
    """Write the speeds after one tick under every rule. Approximation: exact.

    Parameters
    ----------
    vx, vy : int64 [ticks]
        Speeds before the tick, spx a tick.
    direction, jump, held : int64 [ticks]
        The tick's buttons, and whether the jump's button was held in the tick before.
    takeoff : int64 [ticks]
        The takeoff speed that rules the tick, spx a tick; for TAKING_OFF that of the jump which begins in it.
    speeds : int64 [ticks, COLUMNS]
        Filled in: vx on ground walking and running, vx in the air, vy of a jump's takeoff, vy in the air.
    motion : Motion
    """
    for t in range(vx.shape[0]):
        speeds[t, WALKING] = ground_speed(vx[t], direction[t], False, motion)
        speeds[t, RUNNING] = ground_speed(vx[t], direction[t], motion.has_run != 0, motion)
        speeds[t, FLYING] = air_speed(vx[t], direction[t], takeoff[t], motion)
        speeds[t, TAKING_OFF] = takeoff_vy(takeoff[t], jump[t], motion)
        speeds[t, RISING_OR_FALLING] = air_vy(vy[t], held[t], jump[t], takeoff[t], motion)[0]
