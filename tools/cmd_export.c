/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * reeve export: a run as files for other programs.  Each file is written under another name,
 * brought to the disk and then renamed, so that a file with its proper name is always whole.
 */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "core/json.h"
#include "schema/export.h"
#include "schema/review.h"
#include "tools/cmd.h"
#include "tools/opts.h"
#include "tools/run_word.h"

enum { PATH_SIZE = 1024 };

static const char *const names[] = {"readings.csv", "metadata.json", "run.json", "rig.yaml",
				    "station.yaml"};

static enum rv_err cannot(const char *doing, const char *path, struct rv_error *error)
{
	return rv_err_set(error, RV_ERR_SYSTEM, "cannot %s %s: %m", doing, path);
}

struct file {
	char path[PATH_SIZE], part[PATH_SIZE + 8];
	FILE *stream;
};

static enum rv_err begin_file(const char *folder, const char *name, struct file *file,
			      struct rv_error *error)
{
	if (snprintf(file->path, sizeof file->path, "%s/%s", folder, name) >= PATH_SIZE)
		return rv_err_set(error, RV_ERR_RANGE, "the path of the folder is too long");
	snprintf(file->part, sizeof file->part, "%s.part", file->path);
	file->stream = fopen(file->part, "we");
	return file->stream ? RV_OK : cannot("write", file->part, error);
}

static enum rv_err end_file(struct file *file, enum rv_err err, struct rv_error *error)
{
	bool whole = fflush(file->stream) == 0 && fsync(fileno(file->stream)) == 0;

	if (err == RV_OK && !whole)
		err = cannot("write", file->path, error);
	if (fclose(file->stream) != 0 && err == RV_OK)
		err = cannot("write", file->path, error);
	if (err == RV_OK && rename(file->part, file->path) != 0)
		err = cannot("write", file->path, error);
	if (err != RV_OK)
		unlink(file->part);
	return err;
}

static bool to_stream(void *to, const char *bytes, size_t len)
{
	return fwrite(bytes, 1, len, to) == len;
}

static enum rv_err write_readings(struct rv_store *store, int64_t number, const char *folder,
				  enum rv_export_shape shape, struct rv_error *error)
{
	struct file file;
	enum rv_err err = begin_file(folder, "readings.csv", &file, error);

	if (err != RV_OK)
		return err;
	const struct rv_export_sink sink = {.write = to_stream, .to = file.stream};
	err = rv_export_csv(store, number, shape, &sink, error);
	if (err == RV_ERR_CLOSED)
		err = cannot("write", file.path, error);
	return end_file(&file, err, error);
}

static enum rv_err write_text(const char *folder, const char *name, const struct rv_text *text,
			      struct rv_error *error)
{
	struct file file;

	if (text->failed)
		return rv_err_set(error, RV_ERR_NOMEM, "no memory to export the run");
	enum rv_err err = begin_file(folder, name, &file, error);
	if (err != RV_OK)
		return err;
	if (text->len && !to_stream(file.stream, text->data, text->len))
		err = cannot("write", file.path, error);
	return end_file(&file, err, error);
}

static enum rv_err write_json(const char *folder, const char *name, json_t *json,
			      struct rv_error *error)
{
	struct rv_text text = {0};

	rv_json_write(json, &text);
	rv_text_add(&text, "\n");
	json_decref(json);
	enum rv_err err = write_text(folder, name, &text, error);
	rv_text_free(&text);
	return err;
}

/* That of an earlier export does not belong to a run that has none. */
static void remove_rig(const char *folder)
{
	char path[PATH_SIZE];

	if (snprintf(path, sizeof path, "%s/rig.yaml", folder) < PATH_SIZE)
		unlink(path);
}

static enum rv_err write_declared(struct rv_store *store, int64_t number, const char *folder,
				  struct rv_error *error)
{
	struct rv_text rig = {0}, station = {0};
	enum rv_err err = rv_store_run_texts(store, number, &rig, &station, error);

	if (err == RV_OK && rig.len)
		err = write_text(folder, "rig.yaml", &rig, error);
	else if (err == RV_OK)
		remove_rig(folder);
	if (err == RV_OK)
		err = write_text(folder, "station.yaml", &station, error);
	rv_text_free(&rig);
	rv_text_free(&station);
	return err;
}

/* The table last: where it stands, the rest stands too. */
static enum rv_err write_all(struct rv_store *store, int64_t number, const char *folder,
			     enum rv_export_shape shape, struct rv_error *error)
{
	json_t *metadata = NULL, *review = NULL;
	enum rv_err err =
	    rv_export_metadata(store, number, shape, "readings.csv", &metadata, error);

	if (err == RV_OK)
		err = write_json(folder, "metadata.json", metadata, error);
	if (err == RV_OK)
		err = rv_review_run_json(store, number, &review, error);
	if (err == RV_OK)
		err = write_json(folder, "run.json", review, error);
	if (err == RV_OK)
		err = write_declared(store, number, folder, error);
	if (err == RV_OK)
		err = write_readings(store, number, folder, shape, error);
	return err;
}

static enum rv_err prepare_folder(const char *folder, bool again, struct rv_error *error)
{
	if (mkdir(folder, 0777) == 0)
		return RV_OK;
	if (errno != EEXIST)
		return cannot("make the folder", folder, error);
	for (size_t i = 0; !again && i < sizeof names / sizeof names[0]; i++) {
		char path[PATH_SIZE];
		snprintf(path, sizeof path, "%s/%s", folder, names[i]);
		if (access(path, F_OK) == 0)
			return rv_err_set(error, RV_ERR_REFUSED,
					  "%s is there already; --again writes over it", path);
	}
	return RV_OK;
}

struct wish {
	const char *folder, *form, *shape;
	bool again;
};

static bool is_asked_rightly(const struct wish *wish)
{
	if (!wish->folder)
		fprintf(stderr, "reeve export: --to DIR is missing: the folder to write into\n");
	else if (strcmp(wish->form, "csv") != 0)
		fprintf(stderr, "reeve export: --form is \"%s\"; allowed: csv\n", wish->form);
	else if (strcmp(wish->shape, "wide") != 0 && strcmp(wish->shape, "tidy") != 0)
		fprintf(stderr, "reeve export: --shape is \"%s\"; allowed: wide, tidy\n",
			wish->shape);
	else
		return true;
	return false;
}

static int run(int argc, char **argv)
{
	struct wish wish = {.form = "csv", .shape = "wide"};
	const struct rv_opt opts[] = {
	    {"to", "DIR", "the folder to write into; made if it is not there", RV_OPT_TEXT,
	     &wish.folder},
	    {"form", "FORM", "csv", RV_OPT_TEXT, &wish.form},
	    {"shape", "SHAPE", "wide: a line for each instant; tidy: for each reading", RV_OPT_TEXT,
	     &wish.shape},
	    {"again", NULL, "write over an earlier export", RV_OPT_FLAG, &wish.again},
	};
	const struct rv_usage usage = {
	    .command = "export",
	    .operands = "RECORD:RUN --to DIR",
	    .about =
		"Writes a run for other programs, SI units: readings.csv, what its columns are\n"
		"(metadata.json), the run with pulls, marks and alarms (run.json), and the rig\n"
		"and station it was recorded with (rig.yaml, station.yaml).",
	    .opts = opts,
	    .count = sizeof opts / sizeof opts[0],
	    .min_operands = 1,
	    .max_operands = 1,
	};
	struct rv_store *store = NULL;
	struct rv_error error = {0};
	int64_t number = 0;
	int operands = rv_opts_parse(&usage, argc, argv);

	if (operands < 0)
		return -1 - operands;
	if (!is_asked_rightly(&wish))
		return RV_EXIT_USAGE;
	enum rv_export_shape shape =
	    strcmp(wish.shape, "tidy") == 0 ? RV_EXPORT_TIDY : RV_EXPORT_WIDE;
	enum rv_err err = rv_run_word_open(argv[1], &store, &number, &error);
	if (err == RV_OK)
		err = prepare_folder(wish.folder, wish.again, &error);
	if (err == RV_OK)
		err = write_all(store, number, wish.folder, shape, &error);
	rv_store_close(store);
	if (err != RV_OK)
		return rv_run_word_refuse("export", &error);
	printf("run %lld is in %s/readings.csv, metadata.json tells what its columns are\n",
	       (long long)number, wish.folder);
	return RV_EXIT_DONE;
}

const struct rv_command rv_cmd_export = {
    .name = "export",
    .summary = "write a run as files for other programs",
    .run = run,
};
