"""Input from anywhere, meant badly or gone bad: one kind of it per module.

Elsewhere, beside what they are about: workbooks in tests/notebook/test_spreadsheet.py, pages,
scripts and search in tests/journal/test_hostile.py and test_search.py, templates in
tests/e2e/test_trust.py, pictures in tests/notebook/test_photo.py, foreign variables of git in
tests/notebook/test_threads_git.py, and every parser at random in tests/fuzz.
"""
