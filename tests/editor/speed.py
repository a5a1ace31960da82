"""Times the language server on a large tree, as an editor sees it.

    cargo xtask large 2000 target/large-2000
    cargo build --release
    .tools/python/bin/python tests/editor/speed.py target/release/benchleaf target/large-2000

Needs nothing but Python. Prints the median, the 99th percentile and the worst of each kind of
request, in milliseconds, and the memory of the process. Edits are of random places of random
files and are undone by the next edit, so that the tree stays as it is.
"""

import json
import pathlib
import queue
import random
import re
import statistics
import subprocess
import sys
import threading
import time


class Server:
    def __init__(self, program):
        command = [program, "editor"]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.messages = queue.Queue()
        self.requests = 0
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        stream = self.process.stdout
        while True:
            length = None
            while (line := stream.readline()) not in (b"\r\n", b""):
                if line.lower().startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
            if length is None:
                return
            message = stream.read(length)
            self.messages.put((time.perf_counter(), json.loads(message)))

    def send(self, message):
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.process.stdin.flush()

    def notify(self, method, params):
        self.send({"method": method, "params": params})

    def wait(self, is_wanted):
        while True:
            at, message = self.messages.get(timeout=60)
            if is_wanted(message):
                return at, message

    def request(self, method, params):
        """The seconds until the answer, and the answer."""
        self.requests += 1
        number = self.requests
        start = time.perf_counter()
        self.send({"id": number, "method": method, "params": params})
        at, answer = self.wait(lambda message: message.get("id") == number)
        assert "result" in answer, answer
        return at - start, answer["result"]

    def memory(self):
        """The resident memory now and at most, in MB. Only on Linux."""
        status = pathlib.Path(f"/proc/{self.process.pid}/status")
        if not status.exists():
            return "unknown"
        text = status.read_text()
        sizes = [re.search(rf"{key}:\s+(\d+)", text).group(1) for key in ("VmRSS", "VmHWM")]
        return ", at most ".join(f"{int(size) / 1000:.0f} MB" for size in sizes)


class Document:
    def __init__(self, server, path):
        self.server = server
        self.uri = path.resolve().as_uri()
        self.original = path.read_bytes().decode()
        self.text = self.original
        self.version = 1
        item = {"uri": self.uri, "languageId": "x", "version": 1, "text": self.text}
        server.notify("textDocument/didOpen", {"textDocument": item})
        self.wait()

    def wait(self):
        def is_of_version(message):
            params = message.get("params") or {}
            is_diagnostics = message.get("method") == "textDocument/publishDiagnostics"
            is_here = params.get("uri") == self.uri
            return is_diagnostics and is_here and params.get("version") == self.version

        return self.server.wait(is_of_version)[0]

    def position(self, offset):
        before = self.text[:offset]
        line = before.count("\n")
        column = before[before.rfind("\n") + 1 :]
        return {"line": line, "character": len(column.encode("utf-16-le")) // 2}

    def replace(self, start, end, text):
        """The seconds from a change to its diagnostics."""
        span = {"start": self.position(start), "end": self.position(end)}
        self.text = self.text[:start] + text + self.text[end:]
        self.version += 1
        begin = time.perf_counter()
        self.server.notify(
            "textDocument/didChange",
            {
                "textDocument": {"uri": self.uri, "version": self.version},
                "contentChanges": [{"range": span, "text": text}],
            },
        )
        return self.wait() - begin

    def close(self):
        self.server.notify("textDocument/didClose", {"textDocument": {"uri": self.uri}})


def edits(document, chooser, times):
    """Types a letter, a word or a line at a random place, and takes it out again."""
    at = chooser.randrange(len(document.text) + 1)
    typed = chooser.choice(["x", " ", "cover", '"', "\n", "1. []("])
    times.append(document.replace(at, at, typed))
    times.append(document.replace(at, at + len(typed), ""))
    assert document.text == document.original


def report(name, times):
    times = sorted(seconds * 1000 for seconds in times)
    rank = times[min(len(times) - 1, int(len(times) * 0.99))]
    print(
        f"{name:32} {len(times):5} {statistics.median(times):8.1f} {rank:8.1f} {times[-1]:8.1f}",
        flush=True,
    )


def main(program, folder, rounds):
    chooser = random.Random(1)
    folder = pathlib.Path(folder).resolve()
    procedures = sorted(path for path in folder.glob("*/*.md") if path.parent.name != "faults")
    machines = sorted(folder.glob("machines/*.toml"))
    print(f"{len(procedures)} procedures, {len(machines)} machines")
    # The files of the tree come from the disk's cache, as they do in an editor that has listed them.
    for path in folder.rglob("*.*"):
        path.read_bytes()
    start = time.perf_counter()
    server = Server(program)
    server.request("initialize", {"processId": None, "rootUri": folder.as_uri(), "capabilities": {}})
    server.notify("initialized", {})
    first = Document(server, chooser.choice(procedures))
    print(f"first diagnostics after {(time.perf_counter() - start) * 1000:.0f} ms")
    first.close()
    print(f"{'in ms':32} {'count':>5} {'median':>8} {'99 %':>8} {'worst':>8}")
    of_procedures, of_machines, hovers, completions = [], [], [], []
    for _ in range(rounds):
        document = Document(server, chooser.choice(procedures))
        for _ in range(3):
            edits(document, chooser, of_procedures)
        actions = [found.end() for found in re.finditer(r"\]\([a-z]+:", document.text)]
        for at in chooser.sample(actions, min(3, len(actions))):
            params = {"textDocument": {"uri": document.uri}, "position": document.position(at)}
            hovers.append(server.request("textDocument/hover", params)[0])
            completions.append(server.request("textDocument/completion", params)[0])
        document.close()
        document = Document(server, chooser.choice(machines))
        edits(document, chooser, of_machines)
        document.close()
    report("edit of a procedure", of_procedures)
    report("edit of a machine", of_machines)
    report("all edits", of_procedures + of_machines)
    report("hover", hovers)
    report("completion", completions)
    print(f"memory: {server.memory()}")
    server.request("shutdown", None)
    server.notify("exit", None)
    assert server.process.wait(timeout=10) == 0


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]) if len(sys.argv) > 3 else 60)
