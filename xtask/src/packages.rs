//! The programs that the chores run, and the Debian packages that bring them.

use std::fmt::Write as _;

/// A program that a chore runs.
pub(crate) struct Need {
    pub(crate) program: &'static str,
    /// The Debian package that has it.
    pub(crate) package: &'static str,
    /// What the chore does with it, as a clause about the program.
    pub(crate) purpose: &'static str,
}

const MAKE: Need = Need {
    program: "make",
    package: "make",
    purpose: "builds the allocator",
};

/// What the demonstration needs.
pub(crate) const DEMO: &[Need] = &[MAKE];

/// What the tests need.
pub(crate) const TESTS: &[Need] = &[
    MAKE,
    Need {
        program: "pdftotext",
        package: "poppler-utils",
        purpose: "reads the PDFs back",
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
        program: "mutool",
        package: "mupdf-tools",
        purpose: "measures positions on the PDFs' pages",
    },
    Need {
        program: "chromium",
        package: "chromium",
        purpose: "opens the pages as people do",
    },
    Need {
        program: "node",
        package: "nodejs",
        purpose: "runs the browser tests",
    },
    Need {
        program: "npm",
        package: "npm",
        purpose: "installs what the browser tests need",
    },
    Need {
        program: "java",
        package: "default-jre-headless",
        purpose: "runs the HTML checker",
    },
];

/// What the decision depends on.
pub(crate) trait System {
    /// Whether a program can be started.
    fn has(&self, program: &str) -> bool;
    /// Whether this process runs as root.
    fn is_root(&self) -> bool;
}

/// What to do about programs that are missing.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Plan {
    /// Nothing is missing.
    Ready,
    /// Install these packages.
    Install(Vec<&'static str>),
    /// Stop with this message: installing is the user's decision.
    Stop(String),
}

/// Decides about all the programs that are missing. Only root installs: nothing here gains
/// privileges by itself.
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

/// What is missing, and the command that installs it.
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

    fn of(programs: &'static [&'static str], is_root: bool) -> Plan {
        plan(NEEDS, &Fake { programs, is_root })
    }

    #[test]
    fn nothing_is_done_when_nothing_is_missing() {
        for is_root in [true, false] {
            let programs = &["make", "node", "qpdf", "apt-get", "sudo"];
            assert_eq!(of(programs, is_root), Plan::Ready);
        }
    }

    #[test]
    fn root_installs_all_that_is_missing_at_once() {
        assert_eq!(
            of(&["make", "apt-get", "sudo"], true),
            Plan::Install(vec!["nodejs", "qpdf"])
        );
    }

    #[test]
    fn another_user_is_told_the_one_command_and_nothing_is_installed() {
        let Plan::Stop(message) = of(&["make", "apt-get", "sudo"], false) else {
            panic!("it has to stop");
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
    fn without_sudo_the_command_uses_su() {
        let Plan::Stop(message) = of(&["make", "node", "apt-get"], false) else {
            panic!("it has to stop");
        };
        assert!(message.contains("su -c 'apt-get update && apt-get install --yes qpdf'"));
    }

    #[test]
    fn without_apt_no_command_is_named() {
        for is_root in [true, false] {
            let Plan::Stop(message) = of(&["make", "node"], is_root) else {
                panic!("it has to stop");
            };
            assert!(message.contains("qpdf: checks PDFs (Debian package `qpdf`)"));
            assert!(!message.contains("apt-get"));
        }
    }

    #[test]
    fn a_package_is_named_for_every_program() {
        for need in DEMO.iter().chain(TESTS) {
            assert!(!need.program.is_empty() && !need.package.is_empty());
            assert!(!need.package.contains(char::is_whitespace));
        }
        let in_tests = |need: &Need| TESTS.iter().any(|test| test.program == need.program);
        assert!(DEMO.iter().all(in_tests));
    }
}
