"""Set up Axlewright and start it, with nothing but Python.

    python3 .start             open the window
    python3 .start tests       pass the tests, no screen needed
    python3 .start tests quick those that take less than a minute
    python3 .start gamepad     open the window, and have game pads drive in it
    python3 .start check FILE  any other words go to the program
    python3 .start dev         only set up, with all tools of the developers

Everything is installed into the folder .venv of the project, nothing elsewhere.
The syntax stays that of Python 3.6, so that an old Python can say it is too old.
"""

import contextlib
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pip_wheel

ROOT = Path(__file__).resolve().parent.parent
# More would each load Qt for a handful of tests.
MOST_PROCESSES = 8
OLDEST = (3, 11)
# All of geometry, the closed forms and the physics from elsewhere, and each verb once.
QUICK = ["-m", "not slow", "geometry", "tests/geometry", "tests/outside", "tests/whole/test_smoke.py"]
EXTRAS_OF = {"tests": ["test"], "dev": ["dev", "test"], "gamepad": ["gamepad"]}


class CannotStartError(Exception):
    """A sentence for the person that says what lacks and what to do."""


# ---------------------------------------------------------------- words and versions


def plan(words):
    """Return (extras to install, what to run, its further words) for the words of the command."""
    first = words[0] if words else ""
    if words[:2] == ["tests", "quick"]:
        return EXTRAS_OF["tests"], "tests", QUICK + words[2:]
    if first == "tests":
        return EXTRAS_OF["tests"], "tests", words[1:]
    if first == "dev":
        return EXTRAS_OF["dev"], "nothing", []
    if first == "gamepad":
        return EXTRAS_OF["gamepad"], "program", words[1:]
    return [], "program", words


def age_problem(version, names=("python3.14", "python3.13", "python3.12", "python3.11"), find=shutil.which):
    """Return a sentence when this Python is too old, naming a newer one that is installed; else None."""
    if tuple(version[:2]) >= OLDEST:
        return None
    text = "Axlewright needs Python 3.11 or newer; this one is {}.{}.".format(*version[:2])
    for name in names:
        if find(name):
            return text + " A newer one is here: run   {} .start".format(name)
    return text + " Get a newer one from python.org or from your system's packages."


def venv_python(folder, windows=None):
    """Return the path of the interpreter inside a virtual environment."""
    if windows is None:
        windows = os.name == "nt"
    return folder / "Scripts" / "python.exe" if windows else folder / "bin" / "python"


# ---------------------------------------------------------------- the stamp: what .venv holds


def read_stamp(folder):
    """Return what the last set-up wrote into the environment, an empty dict when unreadable."""
    try:
        stamp = json.loads((folder / "axlewright-stamp.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return stamp if isinstance(stamp, dict) else {}


def write_stamp(folder, **stamp):
    """Note what the environment holds, or that work on it is under way."""
    (folder / "axlewright-stamp.json").write_text(json.dumps(stamp), encoding="utf-8")


def needed_extras(stamp, root, digest, extras):
    """Return the extras to install now, None when the environment already holds all.

    Extras that were installed before stay, so that window and tests do not undo each other.
    """
    before = stamp.get("extras")
    before = before if isinstance(before, list) else []
    wanted = sorted(set(extras) | set(before))
    same = stamp.get("state") == "ready" and stamp.get("digest") == digest and stamp.get("root") == str(root)
    return None if same and wanted == sorted(before) else wanted


def must_rebuild(stamp, root, works):
    """Whether the environment has to be made anew: broken, left half done, or moved from elsewhere."""
    moved = "root" in stamp and stamp["root"] != str(root)
    return not works or moved or stamp.get("state") == "working"


# ---------------------------------------------------------------- child processes


def clean_environment(variables):
    """Return the environment for children without what would lead Python or pip out of .venv.

    Robot tool kits often set PYTHONPATH, and with it other versions of the same parts.
    """
    unwanted = {"PYTHONPATH", "PYTHONHOME", "PIP_TARGET", "PIP_PREFIX", "PIP_REQUIRE_VIRTUALENV"}
    kept = {name: text for name, text in variables.items() if name.upper() not in unwanted}
    return dict(kept, PIP_DISABLE_PIP_VERSION_CHECK="1", PIP_NO_INPUT="1", PIP_USER="0")


def heard(command):
    """Start a command in the project's folder that reads nothing and whose words are ours to read."""
    return subprocess.Popen(
        [str(part) for part in command],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        env=clean_environment(os.environ),
        cwd=str(ROOT),
    )


def quiet(command):
    """Run a command without showing it; return whether it succeeded and what it said."""
    try:
        with heard(command) as child:
            told = child.stdout.read()
    except OSError as error:
        return False, str(error)
    return child.returncode == 0, told.decode("utf-8", "replace")


def short_line(line):
    """Return the few words worth showing of one line of pip's output, None for the rest of them."""
    fetched = re.match(r"\s*(?:Downloading|Using cached) (\S+?)(?:\.metadata)? \(([\d.]+ [kMG]?B)\)", line)
    if fetched and ".metadata" not in line:
        name = re.split(r"-\d", fetched.group(1).rsplit("/", 1)[-1])[0]
        return "  {}, {}".format(name.replace("_", "-"), fetched.group(2))
    if line.startswith("Installing collected packages:"):
        return "  unpacking {} packages".format(line.count(",") + 1)
    return None


def run_pip(command):
    """Run pip, show a short line for each package; return whether it succeeded and its whole output."""
    lines = []
    with heard(command) as child:
        for raw in child.stdout:
            line = raw.decode("utf-8", "replace").rstrip()
            lines.append(line)
            if short_line(line):
                say(short_line(line))
    return child.returncode == 0, "\n".join(lines)


def say(text):
    """Show one line at once, also where output is kept in a file, whatever letters the screen knows."""
    encoding = sys.stdout.encoding or "ascii"
    print(text.encode(encoding, "replace").decode(encoding), flush=True)


# ---------------------------------------------------------------- the environment


def make_environment(folder):
    """Make an environment with a working pip in `folder`, by the first way that works here."""
    if folder.is_symlink() or folder.is_file():
        folder.unlink()
    elif folder.exists():
        shutil.rmtree(str(folder))
    say("Making the folder .venv for Axlewright's parts")
    if quiet([sys.executable, "-m", "venv", folder])[0] and has_pip(folder):
        return
    # Debian splits ensurepip off: venv then stops half way.
    shutil.rmtree(str(folder), ignore_errors=True)
    made, told = quiet([sys.executable, "-m", "venv", "--without-pip", folder])
    if not made:
        raise CannotStartError(
            "This Python cannot make virtual environments. On Debian and Ubuntu:\n"
            "    sudo apt install python3-venv\nIt said: " + last_lines(told, 3)
        )


def has_pip(folder):
    """Whether the environment's own pip answers."""
    return quiet([venv_python(folder), "-m", "pip", "--version"])[0]


def give_pip(folder):
    """Put pip into an environment that has none: by Python's own, by the system's, or by the index."""
    inside = venv_python(folder)
    if has_pip(folder) or (quiet([inside, "-m", "ensurepip"])[0] and has_pip(folder)):
        return
    if quiet([sys.executable, "-m", "pip", "--python", inside, "install", "pip"])[0] and has_pip(folder):
        return
    say("Fetching pip, which this system's Python comes without")
    try:
        with tempfile.TemporaryDirectory() as place:
            wheel = pip_wheel.fetched(os.environ.get("PIP_INDEX_URL") or pip_wheel.INDEX, Path(place))
            worked, told = quiet([inside, str(wheel) + "/pip", "install", "--no-index", wheel])
    except (OSError, ValueError) as error:  # URLError is an OSError
        worked, told = False, str(error)
    if not worked or not has_pip(folder):
        raise CannotStartError(
            "This Python comes without pip and it could not be fetched. On Debian and Ubuntu:\n"
            "    sudo apt install python3-venv\nIt said: " + last_lines(told, 3)
        )


# ---------------------------------------------------------------- set-up as a whole


def last_lines(text, count):
    """Return the last lines of a text that say something."""
    return "\n".join([line for line in text.splitlines() if line.strip()][-count:])


def works(folder):
    """Whether the environment's interpreter runs and is new enough."""
    test = "import sys; sys.exit(sys.version_info[:2] < {!r})".format(OLDEST)
    return quiet([venv_python(folder), "-c", test])[0]


@contextlib.contextmanager
def one_set_up_at_a_time(path):
    """Hold a lock file while the environment changes; the system drops it even when we are killed."""
    with path.open("a+b") as file:
        try:
            import fcntl  # late: Windows has msvcrt in its place
        except ImportError:
            import msvcrt

            lock, refused = lambda: msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1), OSError
        else:
            lock, refused = lambda: fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB), BlockingIOError
        waited = False
        while True:
            try:
                file.seek(0)
                lock()
                break
            except refused:
                if not waited:
                    say("Another start is setting up; waiting for it")
                waited = True
                time.sleep(0.5)
            except OSError:
                break  # some file systems know no locks: better unguarded than not at all
        yield


def set_up(folder, extras):
    """Bring the environment to what pyproject.toml asks for; quick when it already is."""
    digest = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()

    def is_ready():
        stamp = read_stamp(folder)
        if must_rebuild(stamp, ROOT, works(folder)):
            return False
        return needed_extras(stamp, ROOT, digest, extras) is None

    if is_ready():
        return
    with one_set_up_at_a_time(ROOT / ".venv.lock"):
        if not is_ready():
            install(folder, extras, digest)


def install(folder, extras, digest):
    """Make the environment where it is none or broken, and install what it lacks."""
    stamp = read_stamp(folder)
    if must_rebuild(stamp, ROOT, works(folder)):
        if folder.exists():
            say("The folder .venv is broken, half done or from elsewhere; it is made anew")
        make_environment(folder)
        stamp = {}
    wanted = needed_extras(stamp, ROOT, digest, extras) or []
    write_stamp(folder, state="working", root=str(ROOT))
    give_pip(folder)
    say("Installing Axlewright and what it needs into .venv (once; some minutes on a slow line)")
    target = ".[{}]".format(",".join(wanted)) if wanted else "."
    command = [venv_python(folder), "-m", "pip", "install", "--progress-bar", "off", "--editable", target]
    worked, told = run_pip(command)
    (folder / "axlewright-pip.log").write_text(told, encoding="utf-8")
    if not worked:
        # pip leaves the environment whole when it gives up by itself, unlike when it is killed.
        write_stamp(folder, **stamp)
        raise CannotStartError(install_problem(told, folder))
    write_stamp(folder, state="ready", root=str(ROOT), digest=digest, extras=wanted)


def install_problem(told, folder):
    """Return plain words for a failed installation from pip's output."""
    lines = told.splitlines()
    errors = [line.strip() for line in lines if line.strip().startswith("ERROR")]
    unreachable = ("NewConnectionError", "NameResolutionError", "Name or service", "getaddrinfo failed")
    cause = "pip could not install Axlewright's parts."
    if "No space left on device" in told:
        cause = "The disk is full: the parts need half a GB for the window, 1 GB with the tests."
    elif any(word in line for line in lines for word in unreachable):
        cause = "The package index cannot be reached. Is this computer on the network?"
    elif "(from versions: none)" in told:
        cause = "The package index cannot be reached, or it holds nothing for this system and Python."
    said = "\n".join(errors[:3]) or last_lines(told, 3)
    return "{}\nIt said: {}\nAll of it is in {}".format(cause, said, folder / "axlewright-pip.log")


def run(folder, what, words):
    """Run the program or its tests in the environment; return the exit code."""
    if what == "nothing":
        return 0
    inside = str(venv_python(folder))
    if what == "tests":
        # The tests draw without a screen, yet Qt's libraries must be there; a sentence beats many errors.
        drawn_in_memory = dict(clean_environment(os.environ), QT_QPA_PLATFORM="offscreen")
        check = [inside, "-m", "app.qt_check"]
        if subprocess.run(check, cwd=str(ROOT), env=drawn_in_memory, check=False).returncode:
            return 2
        # A file's tests stay in one process, so that what they share is made once.
        side_by_side = ["-n", str(min(os.cpu_count() or 1, MOST_PROCESSES)), "--dist", "loadfile"]
        command, place = [inside, "-m", "pytest", *side_by_side, *words], str(ROOT)
    else:
        # -P: a folder called app where the person stands must not shadow the program.
        command, place = [inside, "-P", "-m", "app.main", *words], None
    child = subprocess.Popen(command, cwd=place, env=clean_environment(os.environ))
    while True:
        try:
            code = child.wait()
            break
        except KeyboardInterrupt:
            continue  # the child got it too and ends in its own time
    if code < 0:
        say("It was ended by signal {}.".format(-code))
        return 128 - code
    return code


def main(words):
    """Set up and run; return the exit code."""
    problem = age_problem(sys.version_info)
    if problem:
        say(problem)
        return 2
    extras, what, rest = plan(words)
    folder = ROOT / ".venv"
    try:
        set_up(folder, extras)
        return run(folder, what, rest)
    except CannotStartError as error:
        say(str(error))
    except OSError as error:
        say("Setting up failed: {}".format(error))
        say("The project folder must be writable, with some room on the disk.")
    except KeyboardInterrupt:
        say("Stopped.")
        return 130
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
