"""Runs the hook and the workflows of `docs/checks.md` in git repositories, as a service would.

Arguments: the project's root, the folder of the program, an empty folder.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import yaml

ROOT, PROGRAMS, WORK = map(Path, sys.argv[1:])
TOOLS = Path(sys.executable).parent
GUIDE = (ROOT / "docs/checks.md").read_text()
ENVIRONMENT = {
    **os.environ,
    "PATH": os.pathsep.join([str(PROGRAMS), str(TOOLS), os.environ["PATH"]]),
    "HOME": str(WORK),
    "PRE_COMMIT_HOME": str(WORK / "pre-commit"),
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_SYSTEM": os.devnull,
    **{f"GIT_{who}_{what}": "ash@library.example" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL")},
}


def blocks(heading, language):
    """The code blocks of a section of the guide."""
    section = re.search(rf"^## {heading}\n(.*?)(?=^## |\Z)", GUIDE, re.S | re.M)
    return re.findall(rf"^```{language}\n(.*?)^```", section.group(1), re.S | re.M)


def run(folder, *command, **variables):
    done = subprocess.run(
        command, cwd=folder, env={**ENVIRONMENT, **variables}, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    return done.returncode, done.stdout


def must(folder, *command):
    status, output = run(folder, *command)
    assert status == 0, f"{command}: {output}"
    return output


def repository(name):
    folder = WORK / name
    shutil.copytree(ROOT / "tests/trees/hand-pump", folder / "procedures")
    must(folder, "git", "init", "--quiet", "--initial-branch=main")
    must(folder, "git", "add", "--all")
    must(folder, "git", "commit", "--quiet", "--message", "Add the sources")
    return folder


def add_mistake(folder):
    path = folder / "procedures/air/cover.md"
    path.write_text(path.read_text().replace("](note:pump-rod)", "](use:wrench-10)"))
    must(folder, "git", "add", "--all")


def commit(folder):
    return run(folder, "git", "commit", "--quiet", "--message", "Change the cover")


def check_hook():
    folder = repository("hook")
    hook = folder / ".git/hooks/pre-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(blocks("Before each commit", "sh")[0])
    hook.chmod(0o755)
    (folder / "note.txt").write_text("no mistake")
    must(folder, "git", "add", "--all")
    assert commit(folder)[0] == 0
    add_mistake(folder)
    status, output = commit(folder)
    assert status != 0 and "position-not-noted" in output, output


def check_framework():
    """The hook's definition, with the program that is installed already."""
    manifest = ROOT / ".pre-commit-hooks.yaml"
    folder = repository("framework")
    must(folder, "pre-commit", "validate-manifest", str(manifest))
    (config,) = blocks("Before each commit", "yaml")
    config = yaml.safe_load(config)
    (hook,) = yaml.safe_load(manifest.read_text())
    (repo,) = config["repos"]
    assert [used["id"] for used in repo["hooks"]] == [hook["id"]]
    local = {"repos": [{"repo": "local", "hooks": [{**hook, "language": "system"}]}]}
    (folder / ".pre-commit-config.yaml").write_text(json.dumps(local))
    must(folder, "git", "add", "--all")
    must(folder, "pre-commit", "run", "--all-files")
    add_mistake(folder)
    status, output = run(folder, "pre-commit", "run")
    assert status == 1 and "position-not-noted" in output, output


def steps_of_github():
    (workflow,) = blocks("GitHub", "yaml")
    workflow = yaml.safe_load(workflow)
    (job,) = workflow["jobs"].values()
    steps = [step for step in job["steps"] if "run" in step and "cargo install" not in step["run"]]
    files = [step["with"]["sarif_file"] for step in job["steps"] if "sarif_file" in step.get("with", {})]
    return steps, files


def check_github():
    upstream = repository("upstream")
    folder = WORK / "github"
    must(WORK, "git", "clone", "--quiet", str(upstream), str(folder))
    must(folder, "git", "checkout", "--quiet", "-b", "change")
    steps, files = steps_of_github()
    assert len(steps) == 2 and len(files) == 1

    def workflow():
        status, output = 0, ""
        for step in steps:
            if status and step.get("if") != "always()":
                continue
            variables = {"GITHUB_BASE_REF": "main", "GITHUB_STEP_SUMMARY": str(folder / "step-summary")}
            failed, text = run(folder, "bash", "-e", "-c", step["run"], **variables)
            status, output = status or failed, output + text
        log = json.loads((folder / files[0]).read_text())
        return status, output, len(log["runs"][0]["results"]), (folder / "step-summary").read_text()

    status, output, results, summary = workflow()
    assert (status, results) == (0, 0), output
    assert "no findings" in summary and "No sheet is affected" in summary, summary
    add_mistake(folder)
    assert commit(folder)[0] == 0
    status, output, results, summary = workflow()
    assert (status, results) == (1, 1), output
    assert "::error file=procedures/air/cover.md,line=" in output, output
    assert "position-not-noted" in summary and "Cover: clean" in summary, summary


def check_gitlab():
    folder = repository("gitlab")
    (pipeline,) = blocks("GitLab", "yaml")
    job = yaml.safe_load(pipeline)["procedures"]
    junit = folder / job["artifacts"]["reports"]["junit"]

    def script():
        status, output = run(folder, "sh", "-e", "-c", "\n".join(job["script"]))
        return status, output, junit.read_text().count("<failure ")

    assert script()[::2] == (0, 0)
    add_mistake(folder)
    status, output, failures = script()
    assert (status, failures) == (1, 1), output


check_hook()
check_framework()
check_github()
check_gitlab()
print("4 set-ups")
