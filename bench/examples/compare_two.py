"""Compares two policies of one's own and plots them; cells as in a notebook, or run it whole:

    python3 compare_two.py DRYRIG FOLDER [STEADY_HANDS.so]      # DRYRIG: the program; FOLDER: for results and plot.svg
"""
# %% What is compared
import csv
import io
import os
import subprocess
import sys

import numpy as np

PROGRAM, OUT = sys.argv[1], sys.argv[2]
PYTHON_POLICY = "python:" + os.path.join(os.path.dirname(os.path.abspath(__file__)), "nearest_hand.py") + ":BusyHand"
LIBRARY = ["--policy-library", sys.argv[3]] if len(sys.argv) > 3 else []
POLICIES = [PYTHON_POLICY, "steady-hands" if LIBRARY else "follow"]
LESSON, SEEDS = "handle", 2

# %% Film them: the same lesson, person, sensing and seeds for both
subprocess.run([PROGRAM, "compare", LESSON, "--seeds", str(SEEDS), "--keep-series", "--quiet", "--out", OUT, *LIBRARY]
               + [word for policy in POLICIES for word in ("--policy", policy)], check=True, stdout=subprocess.DEVNULL)
with open(os.path.join(OUT, "results.csv"), newline="") as file:
    takes = list(csv.DictReader(file))
names = list(dict.fromkeys(take["policy"] for take in takes))

# %% Differences, take by take of one seed
for column in ("framing_error [tolerances]", "hand_visibility", "jerk [m/s³]", "closest_approach [m]"):
    values = [np.array([float(take[column]) for take in takes if take["policy"] == name]) for name in names]
    difference = values[0] - values[1]
    print(f"{column}: {values[0].mean():.3f} and {values[1].mean():.3f}, {names[0]} minus {names[1]}: {difference.mean():+.3f}")

# %% The course of one take each
def course(take_id, metric):
    text = subprocess.run([PROGRAM, "export", f"{OUT}/results.db:{take_id}", "--csv", "-", "--series", metric], check=True,
                          capture_output=True, text=True).stdout
    rows = list(csv.reader(io.StringIO(text)))[1:]
    return np.array([[float(t), float(v) if v else np.nan] for t, v in rows])

curves = [course(i + 1, "framing_error") for i in range(2)]

# %% Plot: framing error over time, below 1 is acceptable footage
WIDTH, HEIGHT, COLOURS = 900, 300, ("#b5402a", "#2a6bb5")
end_s, most = max(c[-1, 0] for c in curves), np.nanmax([np.nanmax(c[:, 1]) for c in curves])
svg = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT + 40}" font-family="sans-serif" font-size="14">',
       f'<line x1="0" x2="{WIDTH}" y1="{HEIGHT - HEIGHT / most:.1f}" y2="{HEIGHT - HEIGHT / most:.1f}" stroke="#999"/>']
for k, (name, curve, colour) in enumerate(zip(names, curves, COLOURS)):
    known = curve[~np.isnan(curve[:, 1])]
    points = " ".join(f"{t / end_s * WIDTH:.1f},{HEIGHT - v / most * HEIGHT:.1f}" for t, v in known)
    svg += [f'<polyline points="{points}" fill="none" stroke="{colour}"/>',
            f'<text x="{10 + 430 * k}" y="{HEIGHT + 28}" fill="{colour}">framing_error, {name}</text>']
with open(os.path.join(OUT, "plot.svg"), "w") as file:
    file.write("\n".join(svg + ["</svg>\n"]))
print("plot:", os.path.join(OUT, "plot.svg"))
