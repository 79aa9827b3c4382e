#pragma once

namespace CLI {
class App;
}

namespace dryrig {

/// What the program answers: fine, the verdict is no, bad input or usage, could not be done or compared.
enum ExitCode : int { kFine = 0, kVerdictNo = 1, kBadInput = 2, kNotDone = 3 };

/// Runs one command line. Errors go to standard error as `dryrig: ...` and become the exit code.
int RunProgram(int argc, const char* const* argv);

/// Each adds one sub-command, which sets `*exit_code` when it runs and throws InputError or RunError.
void AddTake(CLI::App& program, int* exit_code);
void AddCompare(CLI::App& program, int* exit_code);
void AddGate(CLI::App& program, int* exit_code);
void AddReport(CLI::App& program, int* exit_code);
void AddMerge(CLI::App& program, int* exit_code);
void AddScore(CLI::App& program, int* exit_code);
void AddClearance(CLI::App& program, int* exit_code);
void AddMount(CLI::App& program, int* exit_code);
void AddExport(CLI::App& program, int* exit_code);
void AddCheck(CLI::App& program, int* exit_code);
void AddCues(CLI::App& program, int* exit_code);
void AddList(CLI::App& program, int* exit_code);
void AddView(CLI::App& program, int* exit_code);

}  // namespace dryrig
