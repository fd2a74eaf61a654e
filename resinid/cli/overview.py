"""What ``resinid --help`` prints, as :mod:`argparse` lays it out for 80 columns.

It stands here so that asking for help loads nothing; a test holds it to what argparse says. Where that fails, put
the output of ``COLUMNS=80 python -c "from resinid.cli.main import main; main(['--help'])"`` in its place.
"""

__all__ = ["OVERVIEW", "OVERVIEW_COLUMNS"]

OVERVIEW_COLUMNS = 80

OVERVIEW = """\
usage: resinid [-h] [--version] COMMAND ...

Rank which resin a piece of scrap plastic is.

options:
  -h, --help  show this help message and exit
  --version   show program's version number and exit

commands:
  COMMAND
    identify  Rank the resins a piece may be.
    liquid    Density of a liquid, such as 'ethanol 40 %v/v at 22 degC'.
    methods   List the methods, their tests, the words of outcomes, and
              cautions.
    resins    List the resins of the table.
    sources   List the sources of the table and of the methods.
    table     Report how well each cell of the table is sourced.
    next      Rank the tests to do next by what they tell, or say to stop.
    recipe    What to mix for a bath of a wanted density.
    ladder    The baths that best sort some resins.
    bench     Be led through the bench, test by test.
    rows      Rank the resins of every row of a CSV or Parquet file or a
              spreadsheet.
    batch     What a bag consists of, and how pure it is.
    together  Whether batches may be melted together.
    plan      How to melt one batch, or several together, if that may be done.
    stock     What becomes of every two batches of a stock.
    sheet     One page of HTML to print: of a piece, or of a bag the melt
              plan.
    record    Keep a record of pieces, bags, plans and slabs, and learn from it.
    guide     Show a page of the guide, or its topics.

'resinid guide' explains; 'resinid methods' lists each test and the words of
its outcomes; COMMAND --help tells of one command. Exit codes: 0, answered; 2,
bad input or usage, with one message that lists every fault, or no room for
the answer; 130, interrupted.
"""
