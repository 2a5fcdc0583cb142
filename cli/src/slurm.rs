//! A script that runs a sweep as a Slurm job array and joins its parts.

use std::fmt::Write as _;

/// What the script is made for.
#[derive(Clone, Debug)]
pub struct Job<'a> {
    /// What the jobs are called.
    pub name: &'a str,
    /// The study file, as the jobs find it.
    pub study: &'a str,
    /// The directory of the parts and of the joined file, on a file system that all nodes share.
    pub out: &'a str,
    /// Tasks wanted; fewer are submitted where the cluster's array limit is lower.
    pub tasks: usize,
    /// Cores of one task.
    pub cores: usize,
    /// Whom the time is charged to.
    pub account: Option<&'a str>,
    /// Where the tasks run.
    pub partition: Option<&'a str>,
    /// Longest time of one task, as Slurm writes it: `2:00:00`.
    pub time: &'a str,
    /// Modules that a task loads first.
    pub modules: &'a [String],
    /// The program, as the jobs find it.
    pub program: &'a str,
}

impl Job<'_> {
    /// The script: run on a login node, it submits the array and a join that depends on it.
    ///
    /// The join starts when every task has ended, however it ended (`afterany`): it looks for itself whether a block is
    /// missing and says which. A task that is lost with its node is put back into the queue (`--requeue`) and goes on
    /// where it was; one that runs twice writes the same blocks twice.
    pub fn script(&self) -> String {
        let mut shared = String::new();
        for (flag, value) in [("account", self.account), ("partition", self.partition)] {
            if let Some(value) = value {
                let _ = write!(shared, " --{flag}={}", quoted(value));
            }
        }
        let modules: String = self.modules.iter().map(|module| format!("module load {}\n", quoted(module))).collect();
        let Job { tasks, cores, .. } = self;
        let (name, study, out) = (quoted(self.name), quoted(self.study), quoted(self.out));
        let (program, time) = (quoted(self.program), quoted(self.time));
        let log = quoted(&format!("{}/%x-%A_%a.log", self.out));
        let join_log = quoted(&format!("{}/%x-%j.log", self.out));
        format!(
            r#"#!/bin/bash
# Submits a sweep as a job array, and its join. Run it on a login node:  bash THIS_FILE
# Run it again after a failure: tasks whose blocks are all there end at once.
#
# One task writes its blocks one after the other, each beside its name and then renamed. For a shared file system, choose
# the study's `block` so large that a block takes about a minute and there are at most some thousand blocks in all.
set -euo pipefail
study={study}
out={out}
program={program}
tasks={tasks}

# An array's highest index is below MaxArraySize: with fewer tasks each takes more blocks.
limit=$(scontrol show config | awk '$1 == "MaxArraySize" {{ print $3 }}')
if [ -n "$limit" ] && [ "$limit" -lt "$tasks" ]; then tasks=$limit; fi

mkdir -p "$out"
export study out program tasks

array=$(sbatch --parsable --job-name={name} --array=0-$((tasks - 1)) --requeue --open-mode=append \
    --ntasks=1 --cpus-per-task={cores} --time={time}{shared} --output={log} <<'TASK'
#!/bin/bash
set -euo pipefail
{modules}# Replaced by the program, which so gets the signals that Slurm sends before it ends a task.
exec "$program" sweep "$study" --out "$out" --part $((SLURM_ARRAY_TASK_ID + 1))/"$tasks" \
    --resume --threads "$SLURM_CPUS_PER_TASK"
TASK
)
array=${{array%%;*}}
join=$(sbatch --parsable --job-name={name}-join --dependency=afterany:"$array" --requeue \
    --ntasks=1 --cpus-per-task={cores} --time={time}{shared} --output={join_log} <<'JOIN'
#!/bin/bash
set -euo pipefail
{modules}exec "$program" join "$study" --out "$out"
JOIN
)
echo "array $array of $tasks tasks, join ${{join%%;*}}; watch with: squeue --jobs $array,${{join%%;*}} --format '%i %T %M %R'"
"#
        )
    }
}

/// A word for a shell.
fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "_./:-+=@%".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_string();
    }
    format!("'{}'", word.replace('\'', r"'\''"))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::io::Write;
    use std::process::{Command, Stdio};

    use super::*;

    fn job() -> Job<'static> {
        Job {
            name: "speed and length",
            study: "/data/it's/study.toml",
            out: "results",
            tasks: 64,
            cores: 4,
            account: Some("process"),
            partition: None,
            time: "2:00:00",
            modules: &[],
            program: "quenchway",
        }
    }

    #[test]
    fn words_are_quoted_for_a_shell() {
        for word in ["plain", "two words", "it's", "$HOME `x` \"y\"", "", "a\nb"] {
            let out = Command::new("sh").args(["-c", &format!("printf %s {}", quoted(word))]).output().unwrap();
            assert_eq!(String::from_utf8(out.stdout).unwrap(), word);
        }
    }

    #[test]
    fn the_script_is_one_that_bash_reads() {
        let modules = ["hdf5/1.14".to_string(), "odd name".to_string()];
        let script = Job { modules: &modules, ..job() }.script();
        let mut bash = Command::new("bash").arg("-n").stdin(Stdio::piped()).spawn().unwrap();
        bash.stdin.take().unwrap().write_all(script.as_bytes()).unwrap();
        assert!(bash.wait().unwrap().success(), "{script}");
        assert!(script.contains("--account=process --output=") && !script.contains("--partition"), "{script}");
        assert!(script.contains("module load hdf5/1.14\nmodule load 'odd name'\n"), "{script}");
        assert!(script.contains(r"study='/data/it'\''s/study.toml'"), "{script}");
    }
}
