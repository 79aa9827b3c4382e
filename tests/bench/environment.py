"""Checks of dryrig.Environment; each function is one, named on the command line."""
import math
import sys
import time

import numpy as np

import dryrig

LESSON = sys.argv[2]


def run(env, seed, action=None):
    """Observations, infos and end of one take, standing still or as `action(k)` says."""
    observation, info = env.reset(seed=seed)
    seen, infos = [observation], [info]
    end = (False, False)
    while not any(end):
        step = env.stage["home"] if action is None else action(len(seen))
        observation, reward, *end, info = env.step(step)
        seen.append(observation)
        infos.append(info)
    return seen, infos, end


def turning(env):
    home = env.stage["home"]
    return lambda k: home + 0.15 * np.sin(k / 12) * np.ones(len(home))


def convention():
    env = dryrig.Environment(LESSON)
    observation, info = env.reset(seed=1)
    assert observation in env.observation_space, "first observation"
    out = env.step(env.stage["home"])
    assert len(out) == 5 and out[0] in env.observation_space and isinstance(out[1], float)
    assert out[2] is False and out[3] is False and isinstance(out[4], dict)
    for _ in range(20):
        assert env.step(env.action_space.sample() * 0 + env.stage["home"])[0] in env.observation_space
    assert env.stage["home"] in env.action_space
    broken = dict(observation, joints=observation["joints"][:-1])
    assert broken not in env.observation_space, "the space must tell a broken observation"
    whole = run(env, 1)
    assert whole[2] == [True, False], whole[2]
    try:
        env.step(env.stage["home"])
    except RuntimeError as error:
        assert "the take is over" in str(error), error
    else:
        raise AssertionError("a step after the end")
    early = dryrig.Environment(LESSON, max_s=1)
    assert run(early, 1)[2] == [False, True]


def seeds():
    env = dryrig.Environment(LESSON, sensing="poor")
    one, again = run(env, 5, turning(env)), run(env, 5, turning(env))
    for a, b in zip(one[0], again[0], strict=True):
        assert all(np.array_equal(a[name], b[name]) for name in a)
    other = run(env, 6, turning(env))
    assert any(not np.array_equal(a["points"], b["points"]) for a, b in zip(one[0], other[0]))
    env.reset(seed=5)
    env.reset()
    assert np.array_equal(env.step(env.stage["home"])[0]["points"], run(env, 6)[0][1]["points"]), "no seed: the next"


def metrics():
    """What is told frame by frame is what the whole take's metrics say, to the bit, the late ones too."""
    env = dryrig.Environment(LESSON)
    _, infos, _ = run(env, 2, turning(env))
    scored = 0
    for name in ("framing_error", "hand_visibility", "occlusion", "outside", "clear"):
        rate_hz, series = env.series(name)
        told = np.array([info["metrics"][name] for info in infos[1:]])
        assert rate_hz == 30 and np.array_equal(told, series, equal_nan=True), name
        scored += np.count_nonzero(~np.isnan(told))
    assert scored > 100, scored
    rate_hz, jerk = env.series("jerk")
    late = [pair for info in infos for pair in info["late"]["jerk"]]
    assert [frame for frame, _ in late] == list(range(len(infos) - 1)), "every frame once, in order"
    assert np.array_equal([value for _, value in late], jerk[::8], equal_nan=True) and rate_hz == 240
    assert np.nanmax([value for _, value in late]) > 0.1
    assert all(info["metrics"]["jerk"] is None for info in infos)
    # The filter reaches 23 ticks to either side, so a frame is known three frames later.
    first = next(i for i, info in enumerate(infos) if info["late"]["jerk"])
    assert first == 3, first
    nearest = min(info["metrics"]["closest_approach"] for info in infos[1:])
    assert nearest == env.scorecard()["closest_approach"]
    rms = math.sqrt(np.nanmean(np.square(env.series("framing_error")[1])))
    assert abs(rms - env.scorecard()["framing_error"]) < 1e-12


def arrays():
    env = dryrig.Environment(LESSON)
    first, _ = env.reset(seed=1)
    kept = first["points"].copy()
    assert all(not array.flags.owndata for array in first.values()), "views into one block"
    assert first["points"].ctypes.data + first["points"].nbytes == first["points_seen"].ctypes.data
    for _ in range(30):
        later = env.step(env.stage["home"])[0]
    assert np.array_equal(first["points"], kept) and not np.array_equal(later["points"], kept), "fresh ones each step"
    del env, later
    assert np.array_equal(first["points"], kept), "they outlive the environment"


def refusals():
    env = dryrig.Environment(LESSON)
    env.reset(seed=1)
    high = env.action_space.high
    for action, words in ((high + 0.1, "is outside ["), (high[:-1], "values, expected"), (high * np.nan, "nan is outside")):
        try:
            env.step(action)
        except ValueError as error:
            assert words in str(error), error
        else:
            raise AssertionError(words)
    env.step(np.float32(high))  # a bound in single precision
    env.step(dryrig.Move(camera=dryrig.look_at([0, 1, 1.5], [0, 0.2, 0.8])))
    try:
        dryrig.Environment(LESSON, sensing="god")
    except ValueError as error:
        assert 'did you mean "good"' in str(error), error
    else:
        raise AssertionError("no such sensing")


def twist():
    env = dryrig.Environment(LESSON, action="twist", max_s=2)
    seen, _, _ = run(env, 1, lambda k: np.array([0.05, 0, 0, 0, 0, 0]))
    moved = seen[-1]["camera"][:3, 3] - seen[0]["camera"][:3, 3]
    # 2 s at 0.05 m/s, less what thinking time and servo lag behind: at most half a second of it.
    assert 0.07 < moved[0] < 0.105 and np.linalg.norm(moved[1:]) < 0.01, moved


def speed():
    env = dryrig.Environment(LESSON)
    run(env, 1)
    best = 0
    for seed in range(3):
        begin = time.process_time()
        seen, infos, _ = run(env, seed, turning(env))
        best = max(best, infos[-1]["t_s"] / (time.process_time() - begin))
    print(f"{best:.1f} x real time")
    assert best >= 50, best


globals()[sys.argv[1]]()
