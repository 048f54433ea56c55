import os
import subprocess
import sys

import pytest


@pytest.mark.parametrize("more", [["weekly"], ["us-hospital", "--json"], []])
def test_a_reader_that_has_seen_enough_is_no_defect_of_ours(more):
    """141 is what a shell reports of a process that SIGPIPE ended: 128 and 13."""
    nobody_reads, output = os.pipe()
    os.close(nobody_reads)
    command = [sys.executable, "-m", "pipeline.cli.main", "profile", *more]
    ended = subprocess.run(command, stdout=output, stderr=subprocess.PIPE, text=True, check=False)
    os.close(output)

    assert ended.stderr == ""
    assert ended.returncode == 141
