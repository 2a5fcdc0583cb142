"""A real Slurm on this machine for tests: one controller and three logical nodes, on loopback, without systemd.

Debian's packages slurmctld, slurmd and munge are installed when they are missing; needs root. All state, sockets and logs
lie in one directory. Each node runs in a process and host name space of its own, so that killing it is a power cut.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

PACKAGES = ["slurmctld", "slurmd", "slurm-client", "munge"]
PROGRAMS = ["/usr/sbin/slurmctld", "/usr/sbin/slurmd", "/usr/bin/sbatch", "/usr/sbin/munged"]
NODES = ["n1", "n2", "n3"]
PORT = 27417

# Nothing is measured or bound by control groups, which a container may not offer. A requeued job is held for as long as a
# credential lives: seconds here. Times are short, so that the tests see a node lost in half a minute.
SETTINGS = """\
ClusterName=quench
SlurmctldHost=localhost(127.0.0.1)
SlurmctldPort={port}
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
CredType=cred/munge
AuthInfo=socket={place}/munge.socket,cred_expire=5
{loopback}
SlurmctldPidFile={place}/slurmctld.pid
SlurmdPidFile={place}/slurmd.%n.pid
SlurmctldLogFile={place}/slurmctld.log
SlurmdLogFile={place}/slurmd.%n.log
StateSaveLocation={place}/state
SlurmdSpoolDir={place}/spool.%n
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SwitchType=switch/none
MpiDefault=none
JobAcctGatherType=jobacct_gather/none
AccountingStorageType=accounting_storage/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
SlurmdParameters=config_overrides
SchedulerType=sched/backfill
SchedulerParameters=sched_interval=1,bf_interval=1,batch_sched_delay=0
JobRequeue=1
MaxArraySize=1001
MinJobAge=3600
ReturnToService=2
SlurmctldTimeout=10
SlurmdTimeout=10
KillWait=2
CompleteWait=0
UnkillableStepTimeout=20
NodeName=n[1-3] NodeHostname=localhost NodeAddr=127.0.0.1 Port=[{first}-{last}] CPUs=2 RealMemory=2048 State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE DefaultTime=10 State=UP
"""


def say(words: str) -> None:
    print(f"cluster: {words}", file=sys.stderr, flush=True)


def install() -> None:
    """Installs what is missing; the packages' own services are kept from starting."""
    if all(Path(program).exists() for program in PROGRAMS):
        return
    say(f"installing {' '.join(PACKAGES)} with apt-get")
    policy = Path("/usr/sbin/policy-rc.d")
    ours = not policy.exists()
    if ours:
        policy.write_text("#!/bin/sh\nexit 101\n")
        policy.chmod(0o755)
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    command = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *PACKAGES]
    try:
        if subprocess.run(command, env=environment, stdout=subprocess.DEVNULL).returncode:
            subprocess.run(["apt-get", "update", "-qq"], env=environment, check=True)
            subprocess.run(command, env=environment, stdout=subprocess.DEVNULL, check=True)
    finally:
        if ours:
            policy.unlink()


def status(process: int) -> list[str]:
    """State and parent of a process as the kernel names them; X when there is none."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[:2]
    except OSError:
        return ["X", "0"]


def state(process: int) -> str:
    return status(process)[0]


def children(parent: int) -> list[int]:
    processes = [int(path.name) for path in Path("/proc").glob("[0-9]*")]
    return [process for process in processes if status(process)[1] == str(parent)]


class Cluster:
    """A running cluster; use as a context, which stops it again."""

    def __init__(self, place: Path) -> None:
        self.place = place.absolute()
        self.environment = {**os.environ, "SLURM_CONF": str(self.place / "slurm.conf")}
        self.daemons: dict[str, subprocess.Popen] = {}

    def __enter__(self) -> Cluster:
        install()
        if self.place.exists():
            shutil.rmtree(self.place)
        (self.place / "state").mkdir(parents=True)
        self.write_settings()
        try:
            self.start("munged", ["/usr/sbin/munged", "--foreground", "--force", f"--socket={self.place}/munge.socket",
                                  f"--key-file={self.place}/munge.key", f"--seed-file={self.place}/munge.seed",
                                  f"--pid-file={self.place}/munged.pid"])
            self.until(20, lambda: (self.place / "munge.socket").exists(), "munged is there")
            self.start("slurmctld", ["/usr/sbin/slurmctld", "-D"])
            self.until(30, lambda: "UP" in self.slurm("scontrol", "ping", check=False), "the controller answers")
            for node in NODES:
                self.start_node(node)
            self.until(60, lambda: self.usable(NODES), "all nodes are idle")
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(self, *_) -> None:
        self.stop()

    def write_settings(self) -> None:
        key = self.place / "munge.key"
        key.touch(0o600)
        key.write_bytes(os.urandom(1024))
        (self.place / "cgroup.conf").write_text("CgroupPlugin=cgroup/v1\n")
        names = "".join(f"127.0.0.1 {node}\n" for node in NODES)
        (self.place / "hosts").write_text(f"127.0.0.1 localhost {socket.gethostname()}\n{names}")
        # With these the daemons listen on what the machine's name means: only right where that is loopback.
        try:
            home = socket.gethostbyname(socket.gethostname()) == "127.0.0.1"
        except OSError:
            home = False
        loopback = "CommunicationParameters=NoCtldInAddrAny,NoInAddrAny" if home else ""
        settings = SETTINGS.format(place=self.place, port=PORT, first=PORT + 1, last=PORT + 3, loopback=loopback)
        (self.place / "slurm.conf").write_text(settings)

    def start(self, name: str, command: list[str], **environment: str) -> None:
        with open(self.place / f"{name}.out", "ab") as out:
            self.daemons[name] = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=out, stderr=out, start_new_session=True,
                env={**self.environment, **environment},
            )

    def start_node(self, node: str) -> None:
        inside = 'mount --bind "$2" /etc/hosts && hostname "$1" && exec /usr/sbin/slurmd -D -N "$1"'
        # A shell stays the first process of the name space: it reaps, and its end ends all others.
        command = ["unshare", "--uts", "--pid", "--fork", "--mount-proc", "--kill-child", "sh", "-c",
                   f"({inside}) & wait", "sh", node, str(self.place / "hosts")]
        self.start(node, command, SLURMD_NODENAME=node)

    def slurm(self, *command: str, check: bool = True) -> str:
        """The output of a Slurm command."""
        done = subprocess.run(command, env=self.environment, capture_output=True, text=True, timeout=60)
        if check and done.returncode:
            raise RuntimeError(f"{' '.join(command)}: {done.stderr.strip()}")
        return done.stdout

    def usable(self, nodes: list[str]) -> bool:
        states = self.slurm("sinfo", "-h", "-N", "-n", ",".join(nodes), "-o", "%N %T", check=False).split("\n")
        ready = [line.split()[0] for line in states if line.endswith(("idle", "mixed", "allocated", "completing"))]
        return sorted(set(ready)) == sorted(nodes)

    def until(self, seconds: float, holds, what: str) -> None:
        """Waits until something holds; fails with what was waited for and the ends of the logs."""
        end = time.monotonic() + seconds
        while not holds():
            if time.monotonic() > end:
                raise TimeoutError(f"not within {seconds} s: {what}\n{self.logs()}")
            time.sleep(0.1)

    def logs(self) -> str:
        ends = []
        for path in sorted(self.place.glob("*.log")) + sorted(self.place.glob("*.out")):
            lines = path.read_text(errors="replace").splitlines()[-8:]
            ends += [f"== {path.name}", *lines]
        return "\n".join(ends)

    def cut(self, node: str) -> None:
        """Power cut: the daemon and every task of the node die at once; nobody is told."""
        process = self.daemons.pop(node)
        first = children(process.pid)
        process.kill()
        process.wait()
        # The first process of the name space ends after all others.
        self.until(20, lambda: all(state(child) in "ZX" for child in first), f"everything on {node} is dead")

    def hang(self, node: str) -> None:
        """The daemon stops answering, as behind a broken network; its tasks run on."""
        os.kill(self.daemon_of(node), signal.SIGSTOP)

    def unhang(self, node: str) -> None:
        os.kill(self.daemon_of(node), signal.SIGCONT)

    def daemon_of(self, node: str) -> int:
        for path in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                marks = (path / "environ").read_bytes().split(b"\0")
                ours = f"SLURM_CONF={self.place}/slurm.conf".encode() in marks and f"SLURMD_NODENAME={node}".encode() in marks
                if ours and (path / "comm").read_text() == "slurmd\n":
                    return int(path.name)
        raise LookupError(f"{node} has no daemon")

    def stop(self) -> None:
        for name in [node for node in NODES if node in self.daemons]:
            self.cut(name)
        for name in ["slurmctld", "munged"]:
            process = self.daemons.pop(name, None)
            if process is not None:
                process.terminate()
                try:
                    process.wait(10)
                except subprocess.TimeoutExpired:
                    process.kill()
                    process.wait()


if __name__ == "__main__" and os.geteuid() == 0 and Path("/usr/bin/apt-get").exists():
    install()
