"""A virtual environment of its own with the libraries the scripts of this folder use, made when they are missing."""
import importlib.util
import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
FOLDER = ROOT / "target" / "peers"
NEEDED = ("numpy", "scipy", "numba", "pandapipes", "qdldl", "fluids")


def ensure():
    """Runs the calling script again inside the environment, unless all libraries are there already."""
    # One core for everybody, and the kernels the linear algebra library chooses itself.
    changed = dict(OMP_NUM_THREADS="1", OPENBLAS_NUM_THREADS="1", MKL_NUM_THREADS="1", NUMBA_NUM_THREADS="1")
    os.environ.update(changed)
    for name in ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE"):
        os.environ.pop(name, None)
    if all(importlib.util.find_spec(name) for name in NEEDED):
        return
    python = FOLDER / "bin" / "python"
    if Path(sys.executable) == python:
        sys.exit(f"the environment {FOLDER} lacks libraries; remove it and start again")
    done = FOLDER / "complete"
    if not done.exists():
        print(f"making {FOLDER}", file=sys.stderr)
        subprocess.run([sys.executable, "-m", "venv", str(FOLDER)], check=True)
        pip = [str(python), "-m", "pip", "install", "-q", "--disable-pip-version-check", "-r", str(HERE / "requirements.txt")]
        subprocess.run(pip, check=True)
        done.touch()
    os.execv(str(python), [str(python), *sys.argv])


def build(example):
    """Builds an example program of the core for release and returns its path."""
    command = ["cargo", "build", "-q", "--release", "-p", "aubergine-core", "--example", example]
    subprocess.run(command, cwd=ROOT, check=True)
    return ROOT / "target" / "release" / "examples" / example


if __name__ == "__main__":
    ensure()
