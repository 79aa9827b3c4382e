"""Dryrig from Python: policies of your own, and an environment to train them in.

A simulation is no risk assessment: before an arm moves near a person, the robot's manual, local codes and a qualified person decide.
"""
import numpy as _numpy

from ._core import Move, _Environment, _serve, lessons, metrics, version

__version__ = version
__all__ = ["Box", "Dict", "Environment", "Move", "lessons", "look_at", "metrics"]


class Box:
    """Arrays of one shape between two bounds, as Gymnasium's space of that name: low, high, shape, dtype."""

    def __init__(self, low, high, shape=None, dtype=_numpy.float64):
        self.dtype = _numpy.dtype(dtype)
        self.shape = tuple(shape) if shape is not None else _numpy.shape(low)
        self.low = _numpy.broadcast_to(_numpy.asarray(low, self.dtype), self.shape)
        self.high = _numpy.broadcast_to(_numpy.asarray(high, self.dtype), self.shape)
        self._random = _numpy.random.default_rng(0)

    def seed(self, seed=None):
        self._random = _numpy.random.default_rng(seed)

    def sample(self):
        low, high = _numpy.maximum(self.low, -1e3), _numpy.minimum(self.high, 1e3)
        return self._random.uniform(low, high).astype(self.dtype)

    def contains(self, x):
        x = _numpy.asarray(x)
        return x.shape == self.shape and bool(_numpy.all(x >= self.low) and _numpy.all(x <= self.high))

    __contains__ = contains

    def __repr__(self):
        return f"Box({self.low.min(initial=_numpy.inf)}, {self.high.max(initial=-_numpy.inf)}, {self.shape}, {self.dtype})"


class Dict:
    """Spaces by name."""

    def __init__(self, spaces):
        self.spaces = dict(spaces)

    def __getitem__(self, name):
        return self.spaces[name]

    def seed(self, seed=None):
        for i, space in enumerate(self.spaces.values()):
            space.seed(None if seed is None else seed + i)

    def sample(self):
        return {name: space.sample() for name, space in self.spaces.items()}

    def contains(self, x):
        return set(x) == set(self.spaces) and all(space.contains(x[name]) for name, space in self.spaces.items())

    __contains__ = contains

    def __repr__(self):
        return f"Dict({self.spaces})"


def look_at(position, target, up=(0.0, 0.0, 1.0)):
    """Camera pose X_WC (4x4) at `position`, looking at `target`, image upright. Metres, in W."""
    position, target, up = (_numpy.asarray(v, float) for v in (position, target, up))
    z = target - position
    z = z / _numpy.linalg.norm(z)
    x = _numpy.cross(z, up)
    if _numpy.linalg.norm(x) < 1e-9:
        raise ValueError(f"look_at: up {up} lies along the view; name another one")
    x = x / _numpy.linalg.norm(x)
    pose = _numpy.eye(4)
    pose[:3, 0], pose[:3, 1], pose[:3, 2], pose[:3, 3] = x, _numpy.cross(z, x), z, position
    return pose


class Environment:
    """One lesson, filmed by whoever calls `step`, after the Gymnasium convention.

    action="joints": an array of joint targets (rad, m); action="twist": the camera's wanted velocity in W, three m/s and three
    rad/s, which leads a pose from where the camera stood. Either way the lens is focused on the tracked hands. A `Move` may be
    given instead and says all of it. Names are files or what is shipped; empty: the lesson's, or the program's default.

    `reset` and `step` return observations of fresh arrays; `info["metrics"]` holds the newest frame's values: NaN where there is
    nothing to measure, None where later samples are needed; those come in `info["late"]`, lists of (frame, value).
    `reward(info)` makes the reward; by default minus the framing error of the newest frame, 0 where nothing is asked for.
    """

    metadata = {"render_modes": []}
    render_mode = None

    def __init__(self, lesson, *, person="", sensing="", arm="", bench="", camera="", physics_hz=240.0, decision_latency_s=1 / 30,
                 max_s=0.0, action="joints", reward=None):
        self._core = _Environment(lesson, person, sensing, arm, bench, camera, physics_hz, decision_latency_s, max_s, action)
        self._reward = reward or self._framing
        self._seed = 0
        self.stage = self._core.stage()
        low, high = self._core.action_bounds()
        self.action_space = Box(low, high)
        self.observation_space = Dict({name: Box(low, high, shape) for name, low, high, shape in self._core.observation_bounds()})

    @staticmethod
    def _framing(info):
        error = info["metrics"]["framing_error"]
        return 0.0 if error != error else -error

    def reset(self, *, seed=None, options=None):
        """Back to one. Without a seed the one after the last."""
        self._seed = self._seed + 1 if seed is None else int(seed)
        return self._core.reset(self._seed)

    def step(self, action):
        """(observation, reward, terminated, truncated, info): terminated at the lesson's end, truncated at max_s before it."""
        observation, terminated, truncated, info = self._core.step(action)
        return observation, float(self._reward(info)), terminated, truncated, info

    def scorecard(self):
        """Metric by name, None where there was nothing to measure. Once the take is over."""
        return self._core.scorecard()

    def series(self, metric):
        """(rate_hz, values) behind a metric, NaN where there is nothing to measure. Once the take is over."""
        return self._core.series(metric)

    def close(self):
        """Nothing is held open."""
