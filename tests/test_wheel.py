"""The built wheel carries all it needs: in an environment that knows no checkout it reads a dictation."""

import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "samples" / "01-routine-punctuated.txt"
PIP = (sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check")


def run(*command: str | Path) -> str:
    """Standard output, with no way for the checkout to be found."""
    hidden = {"PYTHONPATH", "ZONULE_LEXICON"}
    environment = {name: value for name, value in os.environ.items() if name not in hidden}
    done = subprocess.run(command, env=environment, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_built_wheel_reads_and_writes(tmp_path: Path) -> None:
    run(*PIP, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", tmp_path, ROOT)
    home = tmp_path / "environment"
    venv.create(home, with_pip=False, symlinks=True)
    python = home / "bin" / "python"
    run(*PIP, "--python", python, "install", "--no-deps", next(tmp_path.glob("zonule-*.whl")))
    site = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip())
    # The libraries are those of this environment; its editable zonule is not, as a .pth file named here is not obeyed.
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", "utf-8")

    assert Path(run(python, "-c", "import zonule; print(zonule.__file__)").strip()).is_relative_to(site)
    assert run(home / "bin" / "zonule", "lexicon", "check").startswith("The lexicon is sound: ")
    assert "operation.eye\tright\t" in run(home / "bin" / "zonule", "read", SAMPLE, "--format", "slots")
    run(home / "bin" / "zonule", "note", SAMPLE, "-o", tmp_path / "note.docx")
    assert (tmp_path / "note.docx").read_bytes()[:2] == b"PK"
