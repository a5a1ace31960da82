//! The sources folders that a client works on.

use super::address::path_of;
use super::checker;
use super::documents::Document;
use super::encoding::Encoding;
use super::folders;
use super::shop_folder::ShopFolder;
use super::transport::Outbox;
use lsp_types::{FileChangeType, FileEvent, TextDocumentContentChangeEvent, Uri};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::JoinHandle;

/// The most changed files that are read one by one. After a checkout of another revision, all are read.
const MOST_SINGLE_FILES: usize = 20;

/// The sources folders, and the documents that are in none of them.
pub(super) struct Workspace {
    pub(super) encoding: Encoding,
    outbox: Outbox,
    /// The folders that the client has opened.
    opened: Vec<PathBuf>,
    shops: Vec<OpenShop>,
    /// Open documents outside all sources folders.
    others: BTreeMap<PathBuf, Document>,
}

struct OpenShop {
    folder: Arc<ShopFolder>,
    checker: Option<JoinHandle<()>>,
}

impl Workspace {
    pub(super) fn new(encoding: Encoding, outbox: Outbox) -> Workspace {
        Workspace {
            encoding,
            outbox,
            opened: Vec::new(),
            shops: Vec::new(),
            others: BTreeMap::new(),
        }
    }

    /// Opens the sources of a workspace folder.
    pub(super) fn add_folder(&mut self, folder: PathBuf) {
        for root in folders::of_workspace(&folder) {
            self.open_shop(&root);
        }
        if !self.opened.contains(&folder) {
            self.opened.push(folder);
        }
    }

    /// Closes the sources of a workspace folder that are in no other and have no open document.
    pub(super) fn remove_folder(&mut self, folder: &Path) {
        self.opened.retain(|opened| opened != folder);
        let opened = &self.opened;
        let is_kept = |shop: &OpenShop| {
            let root = &shop.folder.root;
            let is_of = |opened: &PathBuf| root.starts_with(opened) || opened.starts_with(root);
            !is_of(&folder.to_owned()) || opened.iter().any(is_of) || !shop.folder.open().is_empty()
        };
        let (kept, closed) = std::mem::take(&mut self.shops)
            .into_iter()
            .partition(is_kept);
        self.shops = kept;
        for shop in closed {
            shop.close();
        }
    }

    fn open_shop(&mut self, root: &Path) {
        let is_open = self.shops.iter().any(|shop| shop.folder.is_at(root));
        if is_open {
            return;
        }
        let folder = Arc::new(ShopFolder::new(root.to_owned()));
        // Documents that are open already, because the shop file has just been created.
        let others = std::mem::take(&mut self.others);
        for (path, document) in others {
            match folder.relative(&path) {
                Some(relative) => folder.edit(&relative, |documents| {
                    documents.insert(relative.clone(), document);
                }),
                None => {
                    self.others.insert(path, document);
                }
            }
        }
        // Without a thread, there are no diagnostics, and requests are not answered.
        let checker = checker::start(Arc::clone(&folder), self.encoding, self.outbox.clone()).ok();
        self.shops.push(OpenShop { folder, checker });
    }

    /// Closes all sources, and waits for their threads.
    pub(super) fn close(&mut self) {
        for shop in std::mem::take(&mut self.shops) {
            shop.close();
        }
    }

    /// The sources folders.
    pub(super) fn shops(&self) -> impl Iterator<Item = &ShopFolder> {
        self.shops.iter().map(|shop| &*shop.folder)
    }

    /// The sources folder of a file, and the file's path in it.
    pub(super) fn find(&self, uri: &Uri) -> Option<(&ShopFolder, String)> {
        self.find_path(&path_of(uri)?)
    }

    /// The innermost of the folders that a file is in.
    fn find_path(&self, path: &Path) -> Option<(&ShopFolder, String)> {
        let found = self
            .shops()
            .filter_map(|shop| Some((shop, shop.relative(path)?)));
        found.min_by_key(|(_, relative)| relative.len())
    }

    pub(super) fn open(&mut self, document: Document) {
        let Some(path) = path_of(&document.uri) else {
            return;
        };
        if let Some(root) = path.parent().and_then(folders::around) {
            self.open_shop(&root);
        }
        match self.find_path(&path) {
            Some((shop, relative)) => {
                shop.edit(&relative, |documents| {
                    documents.insert(relative.clone(), document);
                });
                shop.look();
            }
            None => {
                self.others.insert(path, document);
            }
        }
    }

    pub(super) fn change(
        &mut self,
        uri: &Uri,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
    ) {
        let encoding = self.encoding;
        if let Some((shop, relative)) = self.find(uri) {
            shop.edit(&relative, |documents| {
                if let Some(document) = documents.get_mut(&relative) {
                    document.change(version, changes, encoding);
                }
            });
        } else if let Some(document) = path_of(uri).and_then(|path| self.others.get_mut(&path)) {
            document.change(version, changes, encoding);
        }
    }

    pub(super) fn save(&mut self, uri: &Uri) {
        let path = path_of(uri);
        // A shop file makes a folder a sources folder.
        if let Some(root) = path
            .as_deref()
            .and_then(Path::parent)
            .and_then(folders::around)
        {
            self.open_shop(&root);
        }
        if let Some((shop, _)) = self.find(uri) {
            shop.look();
        }
    }

    pub(super) fn close_document(&mut self, uri: &Uri) {
        if let Some((shop, relative)) = self.find(uri) {
            shop.edit(&relative, |documents| {
                documents.remove(&relative);
            });
        } else if let Some(path) = path_of(uri) {
            self.others.remove(&path);
        }
    }

    /// Takes notice of files that have changed on the disk.
    pub(super) fn files_changed(&mut self, events: &[FileEvent]) {
        let paths: Vec<(PathBuf, FileChangeType)> = events
            .iter()
            .filter_map(|event| Some((path_of(&event.uri)?, event.typ)))
            .collect();
        for (path, _) in &paths {
            if path
                .file_name()
                .is_some_and(|name| name == super::diagnostics::SHOP_FILE)
                && let Some(root) = path.parent().and_then(folders::around)
            {
                self.open_shop(&root);
            }
        }
        let reads_all = paths.len() > MOST_SINGLE_FILES;
        for shop in self.shops() {
            let inside = paths.iter();
            let inside = inside.filter_map(|(path, kind)| Some((shop.relative(path)?, *kind)));
            for (relative, kind) in inside {
                // A folder that comes or goes, and a figure, are no files to read one by one.
                if reads_all || kind != FileChangeType::CHANGED || !shop.has_source(&relative) {
                    shop.read_all();
                    break;
                }
                shop.file_changed(&relative);
            }
        }
    }
}

impl OpenShop {
    fn close(self) {
        self.folder.close();
        if let Some(checker) = self.checker {
            // Its panics are caught in it.
            let _ = checker.join();
        }
    }
}
