"""Input from anywhere, meant badly or gone bad: one kind of it per module.

| kind | where it is asked |
| --- | --- |
| nesting, size, aliases, tags, merge keys, Latin-1, UTF-16, NUL, a picture | test_files |
| NaN, huge numbers, digits of other scripts, in files and at the prompt | test_files, test_typed |
| odd texts behind every command, and what could not be read again | test_typed |
| a pipe, a folder, a device, 100 MB for a file | test_files |
| NFC and NFD, case, names of devices, ways out, links | test_names |
| escapes of terminals, marks that turn text around | test_printed, test_typed |
| formulas of spreadsheets in every table | test_tables |
| titles and reasons as messages of commits | test_messages |
| names in a calendar | test_calendar |
| hooks, watchers, attributes, programs of another's git; another's notebook | test_git_of_others |
| a notebook that may only be read | test_rights |
| foreign variables of git | tests/notebook/test_threads_git.py |
| bombs, links, macros, entities in workbooks | tests/notebook/test_spreadsheet.py |
| bombs, vectors, damage in pictures | tests/notebook/test_photo.py |
| loops, memory, reaching out in templates | tests/e2e/test_trust.py |
| what a picture carries along: remarks, films, places | tests/notebook/test_photo_copies.py |
| the same words and photos in Chromium | tests/browser/test_journal.py |
| private words in everything that is published | tests/work/test_planted.py |
| `</script>`, U+2028, markup in pages and search | tests/journal/test_hostile.py, test_search.py |
| the same in a bench sheet's page | tests/show/test_sheet_page.py |
| what other copies, remotes and addresses are called | tests/e2e/test_sync.py |
| requests to what is served | tests/e2e/test_phone_noise.py, test_journal_serve.py |
| every parser at random | tests/fuzz |
"""
