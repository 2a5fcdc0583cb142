"""A sweep as a job array on a real Slurm that breaks down: a task is killed, one requeued, a node loses its power, a node
hangs so that two copies of a task run side by side. What is joined in the end equals the sweep of one machine, bit for bit.
"""

import contextlib
import os
import re
import signal
import subprocess
import time
from pathlib import Path

import pytest

from cluster import Cluster, state

PROJECT = Path(__file__).resolve().parents[2]
PROGRAM = Path(os.environ.get("QUENCHWAY_BIN", PROJECT / "target/release/quenchway")).resolve()
STUDY = PROJECT / "tests" / "cluster" / "study.toml"
TASKS = 8


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    if os.geteuid() != 0 or not Path("/usr/bin/apt-get").exists():
        missing = "a Slurm of three nodes needs root and Debian's packages: NO CLUSTER WAS TESTED"
        pytest.fail(missing) if os.environ.get("CI") == "true" else pytest.skip(missing)
    # Sockets have short names, temporary directories long ones.
    with Cluster(Path("/tmp/quenchway-cluster")) as running:
        yield running


def alone(study, out):
    """The sweep of one machine, undisturbed."""
    quenchway("sweep", study, "--out", out, "--quiet")
    return out / "study.h5"


def quenchway(*words, status=0):
    done = subprocess.run([PROGRAM, *words], capture_output=True, text=True)
    assert done.returncode == status, f"{words}: exit status {done.returncode}\n{done.stdout}{done.stderr}"
    return done


def submit(cluster, study, out):
    """Writes the script, has bash run it as a user would, and gives the numbers of the array and of its join."""
    script = quenchway("sweep", study, "--out", out, "--slurm", str(TASKS), "--time", "5").stdout
    path = out.with_suffix(".sh")
    path.write_text(script)
    done = subprocess.run(["bash", path], env=cluster.environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return re.search(r"array (\d+) of 8 tasks, join (\d+);", done.stdout).groups()


def tasks(cluster, array):
    """State and node of every task of the array that Slurm still knows, by its number."""
    lines = cluster.slurm("squeue", "-h", "-r", "-t", "all", "-j", array, "-o", "%K %T %N", check=False).splitlines()
    return {int(number): (word, node[0] if node else "") for number, word, *node in map(str.split, lines)}


def copies(task):
    """Processes that compute a task of the array."""
    found = []
    for path in Path("/proc").glob("[0-9]*"):
        try:
            words = (path / "cmdline").read_bytes().decode(errors="replace").split("\0")
        except OSError:
            continue
        if "sweep" in words[:2] and f"{task + 1}/{TASKS}" in words and state(int(path.name)) not in "ZX":
            found.append(int(path.name))
    return found


def on_node(cluster, array, node):
    return [task for task, (word, where) in tasks(cluster, array).items() if word == "RUNNING" and where == node]


def ended(cluster, *jobs):
    """No job waits or runs."""
    return not cluster.slurm("squeue", "-h", "-j", ",".join(jobs), check=False).strip()


def blocks(out):
    return len(list(out.glob("*.blocks/*")))


def test_an_array_of_which_a_task_is_requeued(cluster, tmp_path):
    # A third of the samples: a task takes a second.
    study, out = tmp_path / "study.toml", tmp_path / "out"
    study.write_text(STUDY.read_text().replace("../../cases", str(PROJECT / "cases")).replace("points = 32", "points = 11"))
    array, join = submit(cluster, study, out)
    cluster.until(60, lambda: copies(0), "the first task computes")
    # It stands still, so that it surely is at work when it is told to stop; it starts again later, while the others go on.
    for process in copies(0):
        with contextlib.suppress(ProcessLookupError):
            os.kill(process, signal.SIGSTOP)
    cluster.slurm("scontrol", "requeue", f"{array}_0")
    cluster.until(240, lambda: ended(cluster, array, join), "array and join end")
    assert "Restarts=1" in cluster.slurm("scontrol", "show", "job", f"{array}_0")
    quenchway("same", alone(study, tmp_path / "alone"), out / "study.h5")


def test_an_array_on_a_cluster_that_breaks_down(cluster, tmp_path):
    out = tmp_path / "out"
    array, join = submit(cluster, STUDY, out)
    cluster.until(60, lambda: sum(len(copies(task)) for task in range(TASKS)) == 6, "two tasks compute on each node")
    cluster.until(60, lambda: blocks(out) > 0, "a block is written")

    # Everything stands still, so that every node surely has tasks at work whatever the machine's speed.
    frozen = {task: processes for task in range(TASKS) if (processes := copies(task))}
    for process in sum(frozen.values(), []):
        with contextlib.suppress(ProcessLookupError):
            os.kill(process, signal.SIGSTOP)
    at_work = {node: [task for task in on_node(cluster, array, node) if task in frozen] for node in ["n1", "n2", "n3"]}
    assert len(at_work["n1"]) == 2 and at_work["n2"] and at_work["n3"], at_work
    (killed, requeued), hung, lost = at_work["n1"], at_work["n2"], at_work["n3"]
    first_copies = sum((frozen[task] for task in hung), [])

    # A program dies without a word. Slurm takes that for an answer and does not run the task again.
    os.kill(frozen[killed][0], signal.SIGKILL)
    # The network of a node breaks: it is given up, while its tasks live on.
    cluster.hang("n2")
    # The power of a node is cut, nobody is told.
    cluster.cut("n3")
    assert not any(copies(task) for task in lost)
    # Somebody requeues a task: it is told to stop, and starts again later.
    cluster.slurm("scontrol", "requeue", f"{array}_{requeued}")

    # Second copies of the hung tasks run beside the first ones, which go on with what they did.
    again = [task for task in hung if task in tasks(cluster, array)]
    cluster.until(120, lambda: any(len(copies(task)) > 1 for task in again), "a second copy of a hung task")
    overlapping = [task for task in again if len(copies(task)) > 1]
    for process in first_copies:
        os.kill(process, signal.SIGCONT)
    assert overlapping

    cluster.start_node("n3")
    cluster.until(300, lambda: ended(cluster, array, join), "array and join end")
    cluster.until(60, lambda: not any(copies(task) for task in hung), "the first copies end")
    cluster.unhang("n2")

    # What the killed task left undone is missing, and named; the results file is not made.
    log = next(out.glob(f"*-join-{join}.log")).read_text()
    assert "missing" in log and not (out / "study.h5").exists(), log

    # The same script once more does what is missing, and joins.
    cluster.until(60, lambda: cluster.usable(["n1", "n2", "n3"]), "the nodes are back")
    done_before = blocks(out)
    started = time.time()
    array, join = submit(cluster, STUDY, out)
    cluster.until(240, lambda: ended(cluster, array, join), "array and join end")
    assert done_before > 0 and (out / "study.h5").stat().st_mtime > started
    quenchway("same", alone(STUDY, tmp_path / "alone"), out / "study.h5")
