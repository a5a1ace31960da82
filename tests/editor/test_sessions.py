"""Sessions with the client of pytest-lsp, which checks each message against the types of the protocol (lsprotocol) and
what the server sends against what the client has said that it can do."""

import re
import shutil
import time
import urllib.error
import urllib.request

import pytest
from conftest import Session, capabilities, copy_of, edited, initialized
from lsprotocol import types
from pygls.exceptions import JsonRpcException

COVER = "air/cover.md"
MACHINE = "machines/hand-pump.toml"


def with_encoding(name):
    found = capabilities()
    found.general = types.GeneralClientCapabilities(position_encodings=[name])
    return found


@pytest.mark.parametrize("spec", ["visual-studio-code", "neovim", "emacs"])
async def test_findings_of_unsaved_text_and_their_fixes(raw, pump, spec):
    """With the capabilities of real clients, as pytest-lsp has recorded them."""
    found = capabilities(spec)
    await initialized(raw, [pump], found)
    session = Session(raw, pump)
    session.open(COVER)
    await session.until_rules(COVER, [])
    session.change(COVER, session.texts[COVER].replace("remove:cover-nut", "remove:cover-nux"))
    await session.until_rules(COVER, ["unknown-thing"])
    [diagnostic] = raw.diagnostics[session.uri(COVER)]
    assert "did you mean `cover-nut`" in diagnostic.message
    actions = await raw.text_document_code_action_async(
        types.CodeActionParams(
            text_document=session.document(COVER),
            range=diagnostic.range,
            context=types.CodeActionContext(diagnostics=[diagnostic]),
        )
    )
    [action] = actions
    assert action.title == "replace `cover-nux` with `cover-nut`"
    assert list(action.diagnostics) == [diagnostic]
    if action.edit.document_changes:
        session.apply(action.edit)
    else:
        [(uri, edits)] = action.edit.changes.items()
        assert uri == session.uri(COVER)
        session.change(COVER, edited(session.texts[COVER], edits))
    await session.until_rules(COVER, [])


async def test_step_that_is_missing_is_tried_out_and_inserted(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    text = (pump / COVER).read_text()
    session.open(COVER, text.replace("3. [](note:pump-rod)\n", ""))
    await session.until_rules(COVER, ["position-not-noted"])
    [diagnostic] = raw.diagnostics[session.uri(COVER)]
    actions = await raw.text_document_code_action_async(
        types.CodeActionParams(
            text_document=session.document(COVER),
            range=diagnostic.range,
            context=types.CodeActionContext(diagnostics=[]),
        )
    )
    assert ["[](note:pump-rod)" in action.title for action in actions] == [True]
    session.apply(actions[0].edit)
    await session.until_rules(COVER, [])


async def test_change_of_a_machine_shows_in_the_procedures_that_it_is_for(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    session.open(MACHINE)
    session.open(COVER)
    await session.until_rules(COVER, [])
    text = session.texts[MACHINE]
    session.change(MACHINE, text.replace("[part.pump-rod]", "[part.pumprod]"))
    await session.until_rules(COVER, ["unknown-thing"] * 2)
    # What is being typed does not hide what is found elsewhere.
    session.change(MACHINE, text.replace("[part.pump-rod]", "[part.pump-rod"))
    await session.until(lambda: "broken-toml" in session.rules(MACHINE))
    session.change(MACHINE, text)
    await session.until(lambda: session.rules(MACHINE) == [] == session.rules(COVER))
    # A document that is closed without being saved is as on the disk.
    session.change(MACHINE, text.replace("[part.pump-rod]", "[part.pumprod]"))
    await session.until_rules(COVER, ["unknown-thing"] * 2)
    raw.text_document_did_close(
        types.DidCloseTextDocumentParams(text_document=session.document(MACHINE))
    )
    await session.until_rules(COVER, [])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-32"])
async def test_positions_count_units_of_the_negotiated_encoding(raw, pump, encoding):
    result = await initialized(raw, [pump], with_encoding(encoding))
    assert result.capabilities.position_encoding == encoding
    session = Session(raw, pump)
    before = "1. 25 N·m ± 2° 🔧 then [undo](remove:"
    text = (pump / COVER).read_text()
    session.open(COVER, text.replace("3. [](note", f"{before}nosuch).\n3. [](note"))
    await session.until(lambda: "unknown-thing" in session.rules(COVER))
    unknown = [
        found for found in raw.diagnostics[session.uri(COVER)] if found.code == "unknown-thing"
    ]
    start = session.position(COVER, before, encoding)
    assert unknown[0].range.start == start
    assert unknown[0].range.end.character == start.character + len("nosuch")
    # An edit of a range behind those letters, as clients send them while typing.
    session.versions[COVER] += 1
    raw.text_document_did_change(
        types.DidChangeTextDocumentParams(
            text_document=types.VersionedTextDocumentIdentifier(
                uri=session.uri(COVER), version=session.versions[COVER]
            ),
            content_changes=[
                types.TextDocumentContentChangePartial(range=unknown[0].range, text="cover-nut")
            ],
        )
    )
    await session.until(lambda: "unknown-thing" not in session.rules(COVER))


async def test_completion_of_a_verb_and_then_of_its_things(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    text = (pump / COVER).read_text()
    session.open(COVER, text.replace("## Clean", "1. [](\n\n## Clean"))

    async def labels(before):
        result = await raw.text_document_completion_async(
            types.CompletionParams(
                text_document=session.document(COVER),
                position=session.position(COVER, before),
            )
        )
        return {item.label: item for item in result or []}

    verbs = await labels("3. [](note:pump-rod)\n4. [Unhook the rod](remove:pump-rod).\n\n1. [](")
    assert {"remove:", "tighten:", "measure:"} <= set(verbs)
    session.change(COVER, text.replace("## Clean", "1. [](tighten:co\n\n## Clean"))
    things = await labels("(tighten:co")
    assert list(things)[0] == "cover-nut", "fasteners come first"
    assert {"cover", "pump-rod"} <= set(things)
    nut = things["cover-nut"]
    for value in ["cover nut", "9 N·m ± 1 N·m", "in·lbf", "hex 10", "M6"]:
        assert value in nut.detail.replace("\u00a0", " "), value
    assert nut.text_edit.new_text == "cover-nut"
    assert nut.text_edit.range.start == session.position(COVER, "(tighten:")
    session.change(COVER, text.replace("## Clean", "1. [](fit:pump-rod/\n\n## Clean"))
    assert set(await labels("fit:pump-rod/")) == {"upper-hole", "lower-hole"}
    session.change(COVER, text.replace("machines = [", 'begin = ["\nmachines = ['))
    assert set(await labels('machines = ["')) == {"hand-pump"}
    session.change(COVER, text.replace("minutes = 10\n", "min"))
    assert "minutes" in await labels("\nmin")
    assert "title" not in await labels("\nmin"), "it is written already"
    session.open(MACHINE, (pump / MACHINE).read_text().replace('held-by = ["', 'held-by = ["\n'))
    result = await raw.text_document_completion_async(
        types.CompletionParams(
            text_document=session.document(MACHINE),
            position=session.position(MACHINE, 'held-by = ["'),
        )
    )
    assert "cover-nut" in {item.label for item in result}


async def test_hover(raw, demo):
    await initialized(raw, [demo])
    session = Session(raw, demo)
    path = "fuel/float-bowl.md"
    session.open(path)

    async def text_at(before, path=path):
        result = await raw.text_document_hover_async(
            types.HoverParams(
                text_document=session.document(path), position=session.position(path, before)
            )
        )
        return result.contents.value.replace("\u00a0", " ") if result else ""

    nut = await text_at("remove:bowl-nut"[:-3])
    assert "Before this step:" in nut
    assert "`ignition` isolated" in nut, "what came before, in another procedure"
    assert "hex" in nut
    other = "governor/governor-linkage.md"
    session.open(other)
    derived = await text_at("{.rev", other)
    assert "Tighten the manifold nuts" in derived
    machine = "machines/tarn-sedge.toml"
    session.open(machine)
    torque = await text_at('torque = "1', machine)
    assert "window: " in torque
    assert "ft·lbf" in torque


async def test_names_are_found_and_renamed_in_all_files(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    session.open(COVER)
    place = {
        "text_document": session.document(COVER),
        "position": session.position(COVER, "remove:cover-n"),
    }
    [declared] = await raw.text_document_definition_async(types.DefinitionParams(**place))
    assert declared.uri == session.uri(MACHINE)
    context = types.ReferenceContext(include_declaration=True)
    references = await raw.text_document_references_async(
        types.ReferenceParams(**place, context=context)
    )
    assert len(references) == 3
    prepared = await raw.text_document_prepare_rename_async(types.PrepareRenameParams(**place))
    assert prepared.placeholder == "cover-nut"
    with pytest.raises(JsonRpcException, match="already"):
        await raw.text_document_rename_async(types.RenameParams(**place, new_name="cover"))
    with pytest.raises(JsonRpcException, match="id"):
        await raw.text_document_rename_async(types.RenameParams(**place, new_name="Cover Nut"))
    edit = await raw.text_document_rename_async(types.RenameParams(**place, new_name="lid-nut"))
    session.apply(edit)
    await session.until(lambda: session.uri(MACHINE) in raw.diagnostics)
    await session.until(lambda: session.rules(COVER) == [] == session.rules(MACHINE))
    assert "[part.lid-nut]" in session.texts[MACHINE]
    assert "remove:lid-nut" in session.texts[COVER]


async def test_procedure_is_renamed_with_its_file(raw, demo):
    await initialized(raw, [demo])
    session = Session(raw, demo)
    path = "fuel/float-bowl.md"
    session.open(path)
    edit = await raw.text_document_rename_async(
        types.RenameParams(
            text_document=session.document(path),
            position=session.position(path, 'begin = ["make-s'),
            new_name="secure",
        )
    )
    *edits, rename = edit.document_changes
    assert isinstance(rename, types.RenameFile)
    assert rename.old_uri == session.uri("safety/make-safe.md")
    assert rename.new_uri == session.uri("safety/secure.md")
    assert any(change.text_document.uri == session.uri(path) for change in edits)


async def test_outline_links_colours_hints_and_lenses(raw, demo):
    await initialized(raw, [demo])
    session = Session(raw, demo)
    path = "fuel/float-bowl.md"
    session.open(path)
    document = session.document(path)
    text = session.texts[path]
    [title] = await raw.text_document_document_symbol_async(
        types.DocumentSymbolParams(text_document=document)
    )
    assert len(title.children) == text.count("\n## ")
    found = await raw.workspace_symbol_async(types.WorkspaceSymbolParams(query="bowlnut"))
    assert "bowl-nut" in {symbol.name for symbol in found}
    folded = await raw.text_document_folding_range_async(
        types.FoldingRangeParams(text_document=document)
    )
    assert len(folded) >= text.count("\n## ")
    links = await raw.text_document_document_link_async(
        types.DocumentLinkParams(text_document=document)
    )
    assert session.uri("safety/make-safe.md") in {link.target for link in links}
    tokens = await raw.text_document_semantic_tokens_full_async(
        types.SemanticTokensParams(text_document=document)
    )
    assert len(tokens.data) % 5 == 0
    assert tokens.data[3::5].count(0) >= text.count("](remove:")
    everything = types.Range(start=types.Position(0, 0), end=types.Position(10_000, 0))
    hints = await raw.text_document_inlay_hint_async(
        types.InlayHintParams(text_document=document, range=everything)
    )
    assert any(hint.label.split(" / ")[0].isdigit() for hint in hints)
    lenses = await raw.text_document_code_lens_async(types.CodeLensParams(text_document=document))
    rehearse = [lens for lens in lenses if lens.command.command == "benchleaf.rehearse"][0]
    await raw.workspace_execute_command_async(
        types.ExecuteCommandParams(
            command=rehearse.command.command, arguments=rehearse.command.arguments
        )
    )
    await session.until(lambda: raw.shown_documents or raw.messages)


async def test_lenses_open_pages_of_a_running_preview(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    session.open(COVER)
    await session.until_rules(COVER, [])
    lenses = await raw.text_document_code_lens_async(
        types.CodeLensParams(text_document=session.document(COVER))
    )

    async def shown(command):
        """The address that a lens shows, as a document or in a message."""
        [lens] = [lens for lens in lenses if lens.command.command == command]
        before = len(raw.shown_documents) + len(raw.messages)
        await raw.workspace_execute_command_async(
            types.ExecuteCommandParams(command=command, arguments=lens.command.arguments)
        )
        await session.until(lambda: len(raw.shown_documents) + len(raw.messages) > before)
        if raw.shown_documents:
            return raw.shown_documents[-1].uri
        return raw.messages[-1].message.removeprefix("open ")

    def title(address):
        for _ in range(50):
            try:
                with urllib.request.urlopen(address) as page:
                    return re.search("<title>(.*?)</title>", page.read().decode()).group(1)
            except urllib.error.URLError:
                time.sleep(0.1)
        raise AssertionError(f"{address} does not answer")

    front = await shown("benchleaf.preview")
    assert front.startswith("http://127.0.0.1:") or front.startswith("http://localhost:")
    assert "Elmbrook" in title(front)
    sheet = await shown("benchleaf.sheets")
    # The same preview, at the sheet of the machine.
    assert sheet.startswith(front) and "hand-pump/cover" in sheet
    assert "Cover: clean" in title(sheet)


async def test_several_roots_within_larger_folders(raw, tmp_path):
    one = copy_of("tests/trees/hand-pump", tmp_path / "one/docs/shop")
    other = copy_of("tests/trees/hand-pump", tmp_path / "other/procedures")
    later = copy_of("tests/trees/hand-pump", tmp_path / "later/shop")
    for root in [one, other, later]:
        text = (root / COVER).read_text()
        (root / COVER).write_text(text.replace("remove:cover-nut", "remove:nosuch"))
    await initialized(raw, [tmp_path / "one", tmp_path / "other"])
    sessions = [Session(raw, root) for root in [one, other]]
    for session in sessions:
        await session.until(lambda: "unknown-thing" in session.rules(COVER))
    # An id of one is not known in the other.
    sessions[0].open(COVER)
    result = await raw.text_document_definition_async(
        types.DefinitionParams(
            text_document=sessions[0].document(COVER),
            position=sessions[0].position(COVER, "clean:co"),
        )
    )
    assert [place.uri for place in result] == [sessions[0].uri(MACHINE)]
    # A file in no folder that was opened brings its own.
    session = Session(raw, later)
    session.open(COVER)
    await session.until(lambda: "unknown-thing" in session.rules(COVER))
    # The diagnostics of a folder that is closed go away.
    folder = types.WorkspaceFolder(uri=(tmp_path / "other").as_uri(), name="other")
    raw.workspace_did_change_workspace_folders(
        types.DidChangeWorkspaceFoldersParams(
            event=types.WorkspaceFoldersChangeEvent(added=[], removed=[folder])
        )
    )
    await sessions[1].until_rules(COVER, [])


async def test_files_that_come_and_go(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    session.open(COVER)
    await session.until_rules(COVER, [])

    def changed(path, kind):
        event = types.FileEvent(uri=session.uri(path), type=kind)
        raw.workspace_did_change_watched_files(
            types.DidChangeWatchedFilesParams(changes=[event])
        )

    session.change(COVER, session.texts[COVER].replace("minutes", 'begin = ["rinse"]\nminutes'))
    await session.until_rules(COVER, ["unknown-thing"])
    rinse = '+++\ntitle = "Rinse"\nmachines = ["hand-pump"]\n+++\nDirt wears.\n\n## Rinse\n\n1. Rinse it.\n'
    (pump / "air/rinse.md").write_text(rinse)
    changed("air/rinse.md", types.FileChangeType.Created)
    await session.until_rules(COVER, [])
    (pump / "air/rinse.md").write_text(rinse.replace("1. Rinse it.", "1. [](clean:nosuch)"))
    changed("air/rinse.md", types.FileChangeType.Changed)
    await session.until_rules("air/rinse.md", ["unknown-thing"])
    (pump / "air/rinse.md").unlink()
    changed("air/rinse.md", types.FileChangeType.Deleted)
    await session.until(lambda: session.rules(COVER) == ["unknown-thing"])
    assert session.rules("air/rinse.md") == []
    # A file that is open and not on the disk is read as well.
    session.open("air/rinse.md", rinse)
    await session.until_rules(COVER, [])
    # A finding without a place is shown in the shop file, even if there is none.
    (pump / "shop.toml").unlink()
    changed("shop.toml", types.FileChangeType.Deleted)
    await session.until_rules("shop.toml", ["no-shop-file"])
    shutil.rmtree(pump)
    changed("air", types.FileChangeType.Deleted)
    await session.until(lambda: session.rules("shop.toml") == [])


async def test_failed_requests_do_not_end_the_session(raw, pump):
    await initialized(raw, [pump])
    session = Session(raw, pump)
    session.open(COVER)
    with pytest.raises(JsonRpcException):
        await raw.protocol.send_request_async("benchleaf/nosuch", {})
    for body in [
        b'{"jsonrpc": "2.0", "id": "a", "method": "textDocument/hover", "params": {"x": 1}}',
        b'{"jsonrpc": "2.0", "id": "b", "method": "textDocument/rename"}',
        b'{"jsonrpc": "2.0", "method": "textDocument/didChange", "params": [1]}',
        b'{"jsonrpc": "2.0", "method": "$/cancelRequest", "params": {"id": "never-sent"}}',
        b'{"jsonrpc": "2.0", "id": 1e99, "method": "textDocument/hover"}',
        b"no JSON \xff",
        b"",
    ]:
        raw._server.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
    elsewhere = types.TextDocumentIdentifier(uri="untitled:Untitled-1")
    position = types.Position(line=2_000_000_000, character=2_000_000_000)
    params = types.HoverParams(text_document=elsewhere, position=position)
    assert await raw.text_document_hover_async(params) is None
    params = types.HoverParams(text_document=session.document(COVER), position=position)
    await raw.text_document_hover_async(params)
    symbols = await raw.text_document_document_symbol_async(
        types.DocumentSymbolParams(text_document=session.document(COVER))
    )
    assert symbols
