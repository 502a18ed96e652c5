"""`python -m labbook`: the same command as the `labbook` script."""

if __name__ == "__main__":
    from labbook.cli.main import main

    main()
