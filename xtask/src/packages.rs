//! The programs that the tasks need, and the Debian packages that contain them.

use std::fmt::Write as _;

/// A program that a task needs.
pub(crate) struct Need {
    pub(crate) program: &'static str,
    /// The Debian package that contains it.
    pub(crate) package: &'static str,
    /// What the program does for the task, as a clause without a subject.
    pub(crate) purpose: &'static str,
}

const MAKE: Need = Need {
    program: "make",
    package: "make",
    purpose: "builds the allocator",
};

const CHROMIUM: Need = Need {
    program: "chromium",
    package: "chromium",
    purpose: "opens the pages as people do",
};

const NODE: Need = Need {
    program: "node",
    package: "nodejs",
    purpose: "runs the browser tests",
};

const NPM: Need = Need {
    program: "npm",
    package: "npm",
    purpose: "installs what the browser tests need",
};

const POPPLER: Need = Need {
    program: "pdftotext",
    package: "poppler-utils",
    purpose: "reads the PDFs back",
};

const STRACE: Need = Need {
    program: "strace",
    package: "strace",
    purpose: "kills the program at a system call, or lets the call fail",
};

/// The programs that the demonstration needs.
pub(crate) const DEMO: &[Need] = &[MAKE];

/// The programs that the contact sheets need.
pub(crate) const CONTACT_SHEETS: &[Need] = &[
    MAKE,
    POPPLER,
    Need {
        program: "montage",
        package: "imagemagick",
        purpose: "puts pages side by side",
    },
    CHROMIUM,
    NODE,
    NPM,
];

/// The programs that publishing with faults needs.
pub(crate) const FAULTS: &[Need] = &[MAKE, STRACE, POPPLER, CHROMIUM, NODE, NPM];

/// The programs that the tests need.
pub(crate) const TESTS: &[Need] = &[
    MAKE,
    POPPLER,
    STRACE,
    Need {
        program: "nvim",
        package: "neovim",
        purpose: "uses the language server",
    },
    Need {
        program: "units",
        package: "units",
        purpose: "converts thousands of random values, to compare with ours",
    },
    Need {
        program: "qpdf",
        package: "qpdf",
        purpose: "checks that the PDFs are well formed",
    },
    Need {
        program: "groff",
        package: "groff-base",
        purpose: "reads the man pages",
    },
    Need {
        program: "mutool",
        package: "mupdf-tools",
        purpose: "measures positions on the PDFs' pages",
    },
    Need {
        program: "zbarimg",
        package: "zbar-tools",
        purpose: "reads the QR codes",
    },
    Need {
        program: "virtualenv",
        package: "virtualenv",
        purpose: "holds the Python packages that check our formats",
    },
    Need {
        program: "git",
        package: "git",
        purpose: "keeps the sources whose changes are checked",
    },
    Need {
        program: "nvim",
        package: "neovim",
        purpose: "edits the demonstration as people do",
    },
    CHROMIUM,
    Need {
        program: "firefox-esr",
        package: "firefox-esr",
        purpose: "opens the checklist in another browser",
    },
    NODE,
    NPM,
    Need {
        program: "java",
        package: "default-jre-headless",
        purpose: "runs the HTML checker",
    },
];

/// The properties of the machine that [`plan`] depends on.
pub(crate) trait System {
    /// Whether a program can be started.
    fn has(&self, program: &str) -> bool;
    /// Whether this process runs as root.
    fn is_root(&self) -> bool;
}

/// What to do about missing programs.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Plan {
    /// Nothing is missing.
    Ready,
    /// Install these packages.
    Install(Vec<&'static str>),
    /// Stop with this message, because the user must decide about the installation.
    Stop(String),
}

/// Decides what to do about missing programs. Installs only as root, and never gains privileges.
pub(crate) fn plan(needs: &[Need], system: &impl System) -> Plan {
    let missing = needs.iter().filter(|need| !system.has(need.program));
    let missing: Vec<&Need> = missing.collect();
    if missing.is_empty() {
        return Plan::Ready;
    }
    if system.is_root() && system.has("apt-get") {
        return Plan::Install(missing.iter().map(|need| need.package).collect());
    }
    Plan::Stop(message(&missing, system))
}

/// A message with the missing programs and the command that installs them.
fn message(missing: &[&Need], system: &impl System) -> String {
    let mut message = "these programs are missing:\n".to_owned();
    for need in missing {
        let Need {
            program,
            package,
            purpose,
        } = need;
        let _ = writeln!(
            message,
            "  {program}: {purpose} (Debian package `{package}`)"
        );
    }
    if system.has("apt-get") {
        let packages: Vec<&str> = missing.iter().map(|need| need.package).collect();
        let command = format!(
            "apt-get update && apt-get install --yes {}",
            packages.join(" ")
        );
        let as_root = if system.has("sudo") { "sudo sh" } else { "su" };
        let _ = write!(message, "install them with\n  {as_root} -c '{command}'\n");
    }
    message.push_str("and run this command again");
    message
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Fake {
        programs: &'static [&'static str],
        is_root: bool,
    }

    impl System for Fake {
        fn has(&self, program: &str) -> bool {
            self.programs.contains(&program)
        }

        fn is_root(&self) -> bool {
            self.is_root
        }
    }

    const NEEDS: &[Need] = &[
        Need {
            program: "make",
            package: "make",
            purpose: "builds the allocator",
        },
        Need {
            program: "node",
            package: "nodejs",
            purpose: "runs the browser tests",
        },
        Need {
            program: "qpdf",
            package: "qpdf",
            purpose: "checks PDFs",
        },
    ];

    fn plan_with(programs: &'static [&'static str], is_root: bool) -> Plan {
        plan(NEEDS, &Fake { programs, is_root })
    }

    #[test]
    fn plan_is_ready_if_no_program_is_missing() {
        for is_root in [true, false] {
            let programs = &["make", "node", "qpdf", "apt-get", "sudo"];
            assert_eq!(plan_with(programs, is_root), Plan::Ready);
        }
    }

    #[test]
    fn root_installs_all_missing_packages_together() {
        assert_eq!(
            plan_with(&["make", "apt-get", "sudo"], true),
            Plan::Install(vec!["nodejs", "qpdf"])
        );
    }

    #[test]
    fn other_user_gets_the_command_and_installs_nothing() {
        let Plan::Stop(message) = plan_with(&["make", "apt-get", "sudo"], false) else {
            panic!("expected a stop");
        };
        assert_eq!(
            message,
            "these programs are missing:\n  \
             node: runs the browser tests (Debian package `nodejs`)\n  \
             qpdf: checks PDFs (Debian package `qpdf`)\n\
             install them with\n  \
             sudo sh -c 'apt-get update && apt-get install --yes nodejs qpdf'\n\
             and run this command again"
        );
    }

    #[test]
    fn command_uses_su_if_there_is_no_sudo() {
        let Plan::Stop(message) = plan_with(&["make", "node", "apt-get"], false) else {
            panic!("expected a stop");
        };
        assert!(message.contains("su -c 'apt-get update && apt-get install --yes qpdf'"));
    }

    #[test]
    fn message_has_no_command_if_there_is_no_apt() {
        for is_root in [true, false] {
            let Plan::Stop(message) = plan_with(&["make", "node"], is_root) else {
                panic!("expected a stop");
            };
            assert!(message.contains("qpdf: checks PDFs (Debian package `qpdf`)"));
            assert!(!message.contains("apt-get"));
        }
    }

    #[test]
    fn every_program_has_a_package() {
        for need in DEMO.iter().chain(TESTS).chain(CONTACT_SHEETS) {
            assert!(!need.program.is_empty() && !need.package.is_empty());
            assert!(!need.package.contains(char::is_whitespace));
        }
        let in_tests = |need: &Need| TESTS.iter().any(|test| test.program == need.program);
        assert!(DEMO.iter().all(in_tests));
    }
}
