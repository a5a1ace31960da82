"""A session with the language server for each test, on a copy of a tree."""

import asyncio
import os
import pathlib
import shutil

import pytest
import pytest_lsp
from lsprotocol import types
from pytest_lsp import ClientServerConfig, client_capabilities

ROOT = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = os.environ["BENCHLEAF"]
CONFIG = ClientServerConfig(server_command=[PROGRAM, "editor"])


def copy_of(tree, to):
    shutil.copytree(ROOT / tree, to)
    return to


class Session:
    """What a test does with the server, in few words."""

    def __init__(self, client, root):
        self.client = client
        self.root = root
        self.texts = {}
        self.versions = {}
        self.published = {}

    def uri(self, path):
        return (self.root / path).as_uri()

    def document(self, path):
        return types.TextDocumentIdentifier(uri=self.uri(path))

    def open(self, path, text=None):
        self.texts[path] = text if text is not None else (self.root / path).read_text("utf-8")
        self.versions[path] = 1
        item = types.TextDocumentItem(
            uri=self.uri(path), language_id="x", version=1, text=self.texts[path]
        )
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(text_document=item))

    def change(self, path, text):
        """Replaces the whole text, as some clients do."""
        self.texts[path] = text
        self.versions[path] += 1
        self.client.text_document_did_change(
            types.DidChangeTextDocumentParams(
                text_document=types.VersionedTextDocumentIdentifier(
                    uri=self.uri(path), version=self.versions[path]
                ),
                content_changes=[types.TextDocumentContentChangeWholeDocument(text=text)],
            )
        )

    def position(self, path, before, encoding="utf-16", units=None):
        """The position after the first place of a text in a file."""
        text = self.texts[path]
        start = text[: text.index(before) + len(before)]
        column = start[start.rfind("\n") + 1 :]
        size = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[encoding]
        name = {"utf-8": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}[encoding]
        return types.Position(
            line=start.count("\n"), character=len(column.encode(name)) // size
        )

    async def until(self, is_reached, seconds=60):
        """Waits for diagnostics with which something holds."""
        for _ in range(seconds * 50):
            if is_reached():
                return
            await asyncio.sleep(0.02)
        raise AssertionError(f"not reached: {self.client.diagnostics}")

    def rules(self, path):
        return [found.code for found in self.client.diagnostics.get(self.uri(path), [])]

    async def until_rules(self, path, rules):
        await self.until(lambda: self.uri(path) in self.client.diagnostics and self.rules(path) == rules)

    def apply(self, edit):
        """Applies an edit of texts to the open documents."""
        for change in edit.document_changes:
            path = str(pathlib.Path(change.text_document.uri.removeprefix("file://")))
            path = str(pathlib.Path(path).relative_to(self.root))
            if path not in self.texts:
                self.open(path)
            self.change(path, edited(self.texts[path], change.edits))


def edited(text, edits):
    """A text with edits whose positions count UTF-16 units."""
    lines = text.splitlines(keepends=True) + [""]

    def offset(position):
        before = sum(len(line) for line in lines[: position.line])
        line = lines[position.line].encode("utf-16-le")
        return before + len(line[: 2 * position.character].decode("utf-16-le"))

    for edit in sorted(edits, key=lambda edit: offset(edit.range.start), reverse=True):
        start, end = offset(edit.range.start), offset(edit.range.end)
        text = text[:start] + edit.new_text + text[end:]
    return text


def capabilities(spec="visual-studio-code"):
    return client_capabilities(spec)


async def initialized(client, folders, found=None):
    found = found or capabilities()
    folders = [types.WorkspaceFolder(uri=path.as_uri(), name=path.name) for path in folders]
    params = types.InitializeParams(
        capabilities=found,
        root_uri=folders[0].uri if folders else None,
        workspace_folders=folders,
    )
    return await client.initialize_session(params)


@pytest_lsp.fixture(config=CONFIG)
async def raw(client: pytest_lsp.LanguageClient):
    """A client that has not said anything yet."""

    @client.feature(types.CLIENT_REGISTER_CAPABILITY)
    def register(params: types.RegistrationParams):
        client.registered = [registration.method for registration in params.registrations]

    yield
    await client.shutdown_session()


@pytest.fixture
def pump(tmp_path):
    return copy_of("tests/trees/hand-pump", tmp_path / "shop")


@pytest.fixture
def demo(tmp_path):
    return copy_of("procedures", tmp_path / "shop")
