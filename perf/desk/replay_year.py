# A year of archived runs replayed on one thread: processor time and memory of the program, for a quarter of
# the year and the whole, so that a cost that is not linear shows. Use:
#   perf/desk/replay_year.py build/perf/perf/replay_year build/release/gaswright FOLDER [RUNS [close]]
import os
import subprocess
import sys
import time

writer, program, folder = sys.argv[1:4]
year = int(sys.argv[4]) if len(sys.argv) > 4 else 131400
kind = sys.argv[5:]


def measured(command):
    began = time.monotonic()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    if os.waitstatus_to_exitcode(status) != 0:
        sys.exit(f"{' '.join(command)} failed")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, time.monotonic() - began


for runs in (year // 4, year):
    work = os.path.join(folder, str(runs))
    os.makedirs(work, exist_ok=True)
    table = os.path.join(work, "table.csv")
    if not os.path.exists(os.path.join(work, "year.gwa")):
        measured([writer, work, str(runs)] + kind)
    if os.path.exists(table):
        os.remove(table)
    seconds, megabytes, elapsed = measured(
        [program, "assay", "replay", os.path.join(work, "year.gwa"), "--method", os.path.join(work, "method.json"),
         "--calibration", os.path.join(work, "calibration.json"), "--threads", "1", "--output", table])
    print(f"{runs} runs: {seconds:.1f} s of processor ({1e6 * seconds / runs:.0f} us a run), {elapsed:.1f} s elapsed, "
          f"at most {megabytes:.0f} MB")
