"""Makes records with the program itself, for the checks from outside."""

import pathlib
import subprocess

ROOT = pathlib.Path(__file__).resolve().parents[3]

# An invented unit with twelve circuits, one of them told in hostile text.
HEAD = """
procedure(#{
    title: "Merle M2, whole body",
    unit: "Merle M2",
    version: "1.0.0",
    oil: #{ pressure: 150.psi, temperature: 93.celsius },
});
caution("The pump's suction holds whatever closes the hose: keep fingers, eyes and hair away from its end.");
"""
CIRCUIT = """
let c{n} = circuit(#{{
    name: "{name}",
    port: "{n}",
    holds: 20.inHg,
    leaks: 15.inHg,
    symptoms: ["late upshift", "flare 2-3"],
    means: "A leak here bleeds the clutch's apply pressure.",
    land: #{{ diameter: 12.7.mm, length: 7.6.mm }},
    repairs: [#{{ does: "ream and oversize valve", parts: 48, hours: 0.6 }}],
}});
test(c{n});
"""
HOSTILE = "=1+1 </title><script>alert(1)</script> x"
NAMES = [f"circuit {n}" for n in range(1, 12)] + [HOSTILE]
SCRIPT = HEAD + "".join(CIRCUIT.format(n=n, name=name) for n, name in enumerate(NAMES, 1))

# Holes of the twelve: eight sound, two worn, two that leak.
HOLES = ["0.006in"] * 8 + ["0.018in"] * 2 + ["0.028in"] * 2


def program(*arguments, **options):
    """Runs the program and returns what it printed."""
    command = ["cargo", "run", "--quiet", "--", *map(str, arguments)]
    done = subprocess.run(command, cwd=ROOT, text=True, capture_output=True, **options)
    assert done.returncode == 0, (arguments, done.returncode, done.stdout[-2000:], done.stderr[-2000:])
    return done.stdout


def rehearsed(folder):
    """Walks the invented unit on a simulated rig and returns the shop's folder."""
    shop = pathlib.Path(folder) / "shop"
    procedure = pathlib.Path(folder) / "merle-m2.rhai"
    procedure.write_text(SCRIPT)
    names = [name.encode().decode("unicode_escape") for name in NAMES]
    leaks = [option for name, hole in zip(names, HOLES) for option in ("--leak", f"{name}={hole}")]
    program("--shop", shop, "rehearse", procedure, *leaks, stdin=subprocess.DEVNULL)
    return shop / "rehearsals"


ONE_CIRCUIT = """
procedure(#{ title: "Merle M2, feed", unit: "Merle M2", version: "1.0.0" });
let feed = circuit(#{ name: "feed", holds: 20.inHg, leaks: 15.inHg });
test(feed);
"""


def guided(folder, readings):
    """Walks an invented unit of one sound circuit at a bench, once for each reading, and returns the shop's folder."""
    shop = pathlib.Path(folder) / "bench"
    procedure = pathlib.Path(folder) / "one.rhai"
    procedure.write_text(ONE_CIRCUIT)
    given = pathlib.Path(folder) / "answers.txt"
    for n, reading in enumerate(readings):
        lines = [["Ana", "<b>Bo</b>"][n % 2], "29.92 inHg", "20 C", "25", "5", reading, "25", ["5.1", "5"][n % 2]]
        given.write_text("\n".join(lines) + "\n")
        program("--shop", shop, "guide", procedure, "--answers", given, stdin=subprocess.DEVNULL)
    return shop
