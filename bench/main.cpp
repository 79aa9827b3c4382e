#include "bench/program.h"

int main(int argc, char** argv) {
  return dryrig::RunProgram(argc, argv);
}
