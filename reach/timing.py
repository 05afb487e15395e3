"""How likely a player hits a timing window: the normal model of press times.

A press aimed at the middle of a window lands at a time that is normally distributed about the aim. All figures made
here are **averages over players**; they say nothing about one person, and a comfortable window is not a promise of
accessibility. Where a chance is shown, say so beside it.

The default spreads are a judgement, kept as parameters everywhere. What they lean on:

- 7 ms is the least that a source supports: the spread of the timing of hitting a falling ball with a bat (Brenner,
  Driesen & Smeets 2014, Frontiers in Human Neuroscience 8:342). A smaller spread is not defensible.
- 10 ms, practised: between that and the tapping of trained people along with a beat (10-12 ms, from memory: Repp 2005,
  Psychonomic Bulletin & Review 12:969-992).
- 25 ms, typical: beside 27 ms, the best perceptual judgement of which of two targets stopped first (Tadin et al. 2010,
  as cited by Brenner et al. 2014), and untrained tapping (20-30 ms, from memory: Repp 2005). Windows that laboratories
  use as demanding are about 35, 50 and 65 ms (Tresilian & Lonergan 2002, Experimental Brain Research 142:193-207).
- 50 ms, newcomer: the upper end of pressing a button as a moving target arrives (from memory).

A move that needs a *reaction*, with nothing to anticipate, is another matter: compare it with a mean visual reaction
time of 213-231 ms (Woods et al. 2015, Frontiers in Human Neuroscience 9:131) plus the delay of the system.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np

SMALLEST_SUPPORTED_SPREAD_MS = 7.0
"""No source supports a smaller timing spread; warn below it."""

PRACTISED_SPREAD_MS = 10.0
TYPICAL_SPREAD_MS = 25.0
NEWCOMER_SPREAD_MS = 50.0


def window_ms(ticks: float, tick_ms: float) -> float:
    """Length of a window of so many accepted consecutive ticks.

    Inputs are sampled once a tick, so `ticks` accepted ones are hit by every press in an interval of `ticks` whole
    ticks (not one less): the rounding to ticks is counted in it already.
    """
    return ticks * tick_ms


def threshold_ticks(threshold_ms: float, tick_rate_hz: int) -> int:
    """The least window, in ticks, that is not under a threshold."""
    ticks = 1
    while ticks * 1000 / tick_rate_hz < threshold_ms:
        ticks += 1
    return ticks


def chance_of_window(width_ms: float, spread_ms: float, bias_ms: float = 0.0) -> float:
    """Chance that one press aimed at the middle of a window falls inside: an average over players.

    Parameters
    ----------
    width_ms : float
        Length of the window, at least 0.
    spread_ms : float
        Standard deviation of the press times, greater than 0.
    bias_ms : float
        How late (or, negative, early) the presses come on average.

    Returns
    -------
    float
        `Phi((W/2 - bias) / sigma) - Phi((-W/2 - bias) / sigma)`; without bias `erf(W / (2 sqrt(2) sigma))`.
    """
    scale = spread_ms * math.sqrt(2.0)
    return 0.5 * (math.erf((width_ms / 2 - bias_ms) / scale) - math.erf((-width_ms / 2 - bias_ms) / scale))


def window_ms_for_chance(chance: float, spread_ms: float) -> float:
    """Length of the window that is hit with the given chance (0 <= chance < 1): `2 sigma Phi^-1((1 + P) / 2)`."""
    return 2.0 * spread_ms * NormalDist().inv_cdf((1.0 + chance) / 2.0)


def tick_weights(
    ticks: np.ndarray,
    aim: float | Sequence[float],
    tick_ms: float,
    spread_ms: float,
    *,
    open_low: bool = False,
    open_high: bool = False,
) -> np.ndarray:
    """Probability that an action aimed at a tick happens in each of some ticks.

    Parameters
    ----------
    ticks : ndarray
        Consecutive tick numbers.
    aim : float or sequence of float
        The tick aimed at, or several; half a tick more is the border between two ticks.
    tick_ms, spread_ms : float
        Length of a tick and standard deviation of the action's time, greater than 0.
    open_low, open_high : bool
        The first tick stands for all earlier ones, the last for all later ones.

    Returns
    -------
    float64 [ticks] or [aims, ticks]
        The mass that the normal distribution about the middle of tick `aim` has in each tick's interval.
    """
    scale = spread_ms * math.sqrt(2.0)
    offsets = (np.asarray(ticks, dtype=np.float64) - np.asarray(aim, dtype=np.float64)[..., None]) * tick_ms
    edges = np.stack((offsets - tick_ms / 2, offsets + tick_ms / 2))
    # Most edges are as far from one aim as others are from another.
    far, which = np.unique(edges, return_inverse=True)
    lower, upper = np.array([math.erf(v / scale) for v in far])[which].reshape(edges.shape)
    if open_low:
        lower[..., 0] = -1.0
    if open_high:
        upper[..., -1] = 1.0
    return 0.5 * (upper - lower)
