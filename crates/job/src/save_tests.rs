//! Tests of saving and loading.

use super::*;

#[test]
fn saving_keeps_the_version_before() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("loom.flanklight.json");
    let mut job = Job { title: "first".into(), ..Job::default() };
    save(&job, &path).unwrap();
    assert!(backups_of(&path).is_empty());
    job.title = "second".into();
    save(&job, &path).unwrap();
    assert_eq!(load(&path).unwrap().title, "second");
    assert_eq!(load(&backups_of(&path)[0]).unwrap().title, "first");
    // No temporary files stay behind.
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 2);
}

#[test]
fn a_damaged_file_names_its_backup_and_does_not_replace_it() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    for title in ["one", "two"] {
        save(&Job { title: title.into(), ..Job::default() }, &path).unwrap();
    }
    fs::write(&path, b"{\"schema\": \"flankli").unwrap();
    let text = load(&path).unwrap_err().to_string();
    assert!(text.contains("a.json.backup-"), "{text}");
    save(&Job { title: "three".into(), ..Job::default() }, &path).unwrap();
    assert_eq!(load(&backups_of(&path)[0]).unwrap().title, "one");
    assert_eq!(fs::read(dir.path().join("a.json.1")).unwrap(), b"{\"schema\": \"flankli");
}

#[test]
fn nothing_but_a_job_is_written_over() {
    let dir = tempfile::tempdir().unwrap();
    for (name, bytes) in [
        ("shadow.jpg", &b"\xff\xd8\xff\xe0 a picture"[..]),
        ("package.json", b"{\"schema\": \"something else\"}"),
        ("notes.txt", b"turn the nut"),
    ] {
        let path = dir.path().join(name);
        fs::write(&path, bytes).unwrap();
        let text = save(&Job::default(), &path).unwrap_err().to_string();
        assert!(text.contains("is no job file") && text.contains(name), "{text}");
        assert_eq!(fs::read(&path).unwrap(), bytes);
    }
}

#[test]
fn a_letter_of_another_encoding_is_named_and_kept() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    save(&Job { title: "M?ller".into(), ..Job::default() }, &path).unwrap();
    let mut bytes = fs::read(&path).unwrap();
    let at = bytes.iter().position(|b| *b == b'?').unwrap();
    bytes[at] = 0xfc;
    fs::write(&path, &bytes).unwrap();
    let text = load(&path).unwrap_err().to_string();
    assert!(text.contains("UTF-8") && text.contains(&at.to_string()), "{text}");
    save(&Job::default(), &path).unwrap();
    assert_eq!(fs::read(dir.path().join("a.json.1")).unwrap(), bytes);
}

#[cfg(unix)]
#[test]
fn who_may_read_it_and_where_it_leads_stay() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let (file, link) = (dir.path().join("a.json"), dir.path().join("link.json"));
    fs::write(&file, b"").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    std::os::unix::fs::symlink(&file, &link).unwrap();
    save(&Job { title: "behind it".into(), ..Job::default() }, &link).unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
    assert_eq!(load(&file).unwrap().title, "behind it");
}

#[test]
fn what_is_set_aside_is_kept_under_a_free_name() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    for (title, kept) in [("one", "a.json.1"), ("two", "a.json.2")] {
        save(&Job { title: title.into(), ..Job::default() }, &path).unwrap();
        assert_eq!(set_aside(&path).unwrap(), dir.path().join(kept));
    }
    assert_eq!(load(&dir.path().join("a.json.1")).unwrap().title, "one");
    assert_eq!(load(&path).unwrap().title, "two");
    assert!(set_aside(&dir.path().join("none.json")).is_err());
}

#[test]
fn a_folder_that_is_not_there_is_a_sentence() {
    let e = save(&Job::default(), Path::new("/no/such/folder/a.json")).unwrap_err();
    assert!(e.to_string().contains("folder does not exist"), "{e}");
    let e = load(Path::new("/")).unwrap_err();
    assert!(e.to_string().contains("folder"), "{e}");
}

#[test]
fn the_hash_is_sha_256() {
    // FIPS 180-4, example "abc" (NIST, Examples with Intermediate Values).
    assert_eq!(
        sha256_of(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
}

/// A job of this title.
fn titled(title: &str) -> Job {
    Job { title: title.into(), ..Job::default() }
}

#[test]
fn a_change_made_meanwhile_is_not_written_over() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    let nothing = Mark::default();
    let first = save_over(&titled("first"), &path, Some(&nothing)).unwrap();
    let (job, mark) = load_marked(&path).unwrap();
    assert_eq!((job.title.as_str(), &mark), ("first", &first));
    save(&titled("another's"), &path).unwrap();
    let e = save_over(&titled("mine"), &path, Some(&mark)).unwrap_err();
    assert!(matches!(e, SaveError::Changed { .. }) && e.to_string().contains("a.json"), "{e}");
    assert_eq!(load(&path).unwrap().title, "another's");
    // A file that was not there when it was looked for.
    assert!(save_over(&titled("mine"), &path, Some(&nothing)).is_err());
    let (_, mark) = load_marked(&path).unwrap();
    save_over(&titled("mine"), &path, Some(&mark)).unwrap();
    assert_eq!(load(&path).unwrap().title, "mine");
}

#[test]
fn of_many_who_save_at_once_one_wins_and_the_others_are_told() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    save(&titled("before"), &path).unwrap();
    let (_, mark) = load_marked(&path).unwrap();
    let results: Vec<bool> = std::thread::scope(|s| {
        let savers: Vec<_> = (0..8)
            .map(|i| {
                let (path, mark) = (&path, &mark);
                s.spawn(move || save_over(&titled(&format!("of {i}")), path, Some(mark)).is_ok())
            })
            .collect();
        savers.into_iter().map(|s| s.join().unwrap()).collect()
    });
    assert_eq!(results.iter().filter(|ok| **ok).count(), 1, "{results:?}");
    let winner = results.iter().position(|ok| *ok).unwrap();
    assert_eq!(load(&path).unwrap().title, format!("of {winner}"));
}

#[test]
fn several_versions_are_kept_and_a_file_of_that_name_is_let_alone() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    let own = dir.path().join("a.json.backup");
    fs::write(&own, "my own").unwrap();
    for i in 0..9 {
        save(&titled(&i.to_string()), &path).unwrap();
    }
    let kept: Vec<String> = backups_of(&path).iter().map(|p| load(p).unwrap().title).collect();
    // The last four, and the last of the day, which is one of them.
    assert_eq!(kept, ["7", "6", "5", "4"]);
    assert_eq!(fs::read(&own).unwrap(), b"my own");
    // Those of days before stay, one of each.
    let old = |name: &str| {
        let to = dir.path().join(format!("a.json.backup-{name}"));
        fs::copy(&path, &to).unwrap();
        to
    };
    let (day, twice) = (old("2020-01-02-101112"), old("2020-01-02-091112"));
    save(&titled("ten"), &path).unwrap();
    assert!(day.exists() && !twice.exists());
}

#[test]
fn what_a_kill_left_is_taken_away_and_nothing_else() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    // No process has this number: the largest on Linux is 2^22.
    let left = dir.path().join("a.json.new-4294967294-0");
    let others = ["b.json.new-4294967294-0", "a.json.new-thing", "a.json.new-1-x"]
        .map(|n| dir.path().join(n));
    for file in others.iter().chain([&left]) {
        fs::write(file, "x").unwrap();
    }
    save(&titled("one"), &path).unwrap();
    assert!(!left.exists());
    assert!(others.iter().all(|f| f.exists()));
}

#[cfg(unix)]
#[test]
fn what_may_not_be_written_or_read_is_not_replaced() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    save(&titled("one"), &path).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    let text = save(&titled("two"), &path).unwrap_err().to_string();
    assert!(text.contains("not to be written"), "{text}");
    assert_eq!(load(&path).unwrap().title, "one");
    // A pipe is neither read for ever nor replaced.
    let pipe = dir.path().join("pipe.json");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let text = save(&titled("two"), &pipe).unwrap_err().to_string();
    assert!(text.contains("a pipe or a device"), "{text}");
    // A file longer than any job is none.
    let long = dir.path().join("long.json");
    File::create(&long).unwrap().set_len(MOST_BYTES + 1).unwrap();
    assert!(matches!(save(&titled("two"), &long), Err(SaveError::NotOurs { .. })));
    assert!(matches!(load(&long), Err(SaveError::TooLong { .. })));
}

#[cfg(unix)]
#[test]
fn a_version_before_is_as_private_as_its_job() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.json");
    save(&titled("one"), &path).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
    save(&titled("two"), &path).unwrap();
    let mode = |p: &Path| fs::metadata(p).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&backups_of(&path)[0]), 0o600);
    assert_eq!(mode(&path), 0o600);
    fs::write(&path, b"{\"schema\": \"flanklight/job/1\", ").unwrap();
    save(&titled("three"), &path).unwrap();
    assert_eq!(mode(&dir.path().join("a.json.1")), 0o600);
}
