#pragma once

#include "bench/command.h"

namespace dryrig {

/// What the program answers: fine, the verdict is no, bad input or usage, could not be done or compared.
enum ExitCode : int { kFine = 0, kVerdictNo = 1, kBadInput = 2, kNotDone = 3 };

/// Runs one command line. Errors go to standard error as `dryrig: ...` and become the exit code.
int RunProgram(int argc, const char* const* argv);

/// Each adds one sub-command, which throws InputError or RunError when it runs.
void AddTake(CommandTable& program);
void AddCompare(CommandTable& program);
void AddGate(CommandTable& program);
void AddReport(CommandTable& program);
void AddMerge(CommandTable& program);
void AddScore(CommandTable& program);
void AddClearance(CommandTable& program);
void AddTune(CommandTable& program);
void AddMount(CommandTable& program);
void AddExport(CommandTable& program);
void AddGap(CommandTable& program);
void AddCheck(CommandTable& program);
void AddCues(CommandTable& program);
void AddList(CommandTable& program);
void AddView(CommandTable& program);

}  // namespace dryrig
