//! Edits of several files, as the client applies them.

use super::abilities::Abilities;
use super::encoding::{Encoding, Lines};
use super::shop_folder::ShopFolder;
use crate::Sources;
use crate::finding::{Edit, FileId};
use lsp_types::{
    DocumentChangeOperation, DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier,
    RenameFile, ResourceOp, TextDocumentEdit, TextEdit, WorkspaceEdit,
};
use std::collections::BTreeMap;

/// Edits of the sources of a folder. `None` if a file has no address. `renamed` are files that get another path after
/// that, which only some clients can do.
pub(super) fn workspace_edit(
    folder: &ShopFolder,
    sources: &Sources,
    encoding: Encoding,
    abilities: Abilities,
    edits: &[Edit],
    renamed: &[(String, String)],
) -> Option<WorkspaceEdit> {
    let mut by_file: BTreeMap<FileId, Vec<&Edit>> = BTreeMap::new();
    for edit in edits {
        by_file.entry(edit.span.file).or_default().push(edit);
    }
    let mut changes = Vec::new();
    for (file, mut edits) in by_file {
        let source = sources.tree.file(file);
        let lines = Lines::of(&source.text, encoding);
        // Insertions at one place keep their order.
        edits.sort_by_key(|edit| edit.span);
        let edits = edits.into_iter().map(|edit| TextEdit {
            range: lines.range(edit.span.range()),
            new_text: edit.replacement.clone(),
        });
        changes.push((
            source.path.as_str(),
            folder.uri(&source.path)?,
            edits.collect::<Vec<_>>(),
        ));
    }
    if !abilities.changes_documents {
        let changes = changes.into_iter();
        return Some(WorkspaceEdit {
            changes: Some(changes.map(|(_, uri, edits)| (uri, edits)).collect()),
            ..WorkspaceEdit::default()
        });
    }
    let changes = changes.into_iter().map(|(path, uri, edits)| {
        DocumentChangeOperation::Edit(TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier {
                uri,
                version: folder.version(path),
            },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        })
    });
    let mut operations: Vec<DocumentChangeOperation> = changes.collect();
    for (from, to) in renamed {
        let rename = RenameFile {
            old_uri: folder.uri(from)?,
            new_uri: folder.uri(to)?,
            options: None,
            annotation_id: None,
        };
        operations.push(DocumentChangeOperation::Op(ResourceOp::Rename(rename)));
    }
    Some(WorkspaceEdit {
        document_changes: Some(DocumentChanges::Operations(operations)),
        ..WorkspaceEdit::default()
    })
}
