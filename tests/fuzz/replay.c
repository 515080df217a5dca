/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Feeds a fuzz target files, and some changes of each, without a fuzzing engine.
 * usage: fuzz_NAME CHANGES FILE|FOLDER...   Folders are walked.  Stops at the first fault: the text
 * is written to fuzz-fault beside where it runs.
 */
#include <fcntl.h>
#include <ftw.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "tests/fuzz/fuzz.h"

enum { MOST = 1 << 16, OPEN = 16 };

/* nftw takes no context, nor does a signal. */
static struct {
	unsigned changes, seed;
	long executions, files;
	uint8_t text[MOST];
	size_t size;
} run;

/* One byte changed, added or dropped. */
size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t max)
{
	size_t at = size ? run.seed * 2654435761u % size : 0;

	run.seed++;
	if (size < max && run.seed % 3 != 0) {
		memmove(data + at + 1, data + at, size - at);
		data[at] = (uint8_t)(run.seed * 37u);
		return size + 1;
	}
	if (size > 0)
		data[at] ^= (uint8_t)(1u << run.seed % 8);
	return size;
}

static void on_fault(int number)
{
	int file = creat("fuzz-fault", 0644);

	if (file >= 0 && write(file, run.text, run.size) == (ssize_t)run.size)
		(void)!write(STDERR_FILENO, "see fuzz-fault\n", 15);
	signal(number, SIG_DFL);
	raise(number);
}

static void execute(void)
{
	(void)LLVMFuzzerTestOneInput(run.text, run.size);
	run.executions++;
}

static int take(const char *path, const struct stat *about, int kind, struct FTW *where)
{
	static uint8_t whole[MOST];
	FILE *file = kind == FTW_F ? fopen(path, "rb") : NULL;

	(void)about;
	(void)where;
	if (!file)
		return kind == FTW_F ? -1 : 0;
	size_t size = fread(whole, 1, sizeof whole, file);
	fclose(file);
	run.files++;
	for (unsigned i = 0; i <= run.changes; i++) {
		memcpy(run.text, whole, size);
		run.size = size;
		if (i > 0)
			run.size = LLVMFuzzerCustomMutator(run.text, size, MOST, ++run.seed);
		execute();
	}
	return 0;
}

int main(int argc, char **argv)
{
	if (argc < 3) {
		fprintf(stderr, "usage: %s CHANGES FILE|FOLDER...\n", argv[0]);
		return 2;
	}
	run.changes = (unsigned)strtoul(argv[1], NULL, 10);
	signal(SIGABRT, on_fault);
	signal(SIGSEGV, on_fault);
	signal(SIGFPE, on_fault);
	execute(); /* nothing at all */
	for (int i = 2; i < argc; i++)
		if (nftw(argv[i], take, OPEN, FTW_PHYS) != 0) {
			perror(argv[i]);
			return 1;
		}
	printf("%ld files, %ld executions\n", run.files, run.executions);
	return run.files > 0 ? 0 : 1;
}
