/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "daemon/rig_folder.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "daemon/whole_file.h"

enum { PATH_SIZE = 1024 };

static bool is_rig_name(const char *name)
{
	size_t len = strlen(name);

	return name[0] != '.' && !strchr(name, '/') && len < RV_RIG_FOLDER_NAME &&
	       ((len > 5 && strcmp(name + len - 5, ".yaml") == 0) ||
		(len > 4 && strcmp(name + len - 4, ".yml") == 0));
}

/* name in the folder of rig_path; name "" = the folder itself. */
static bool place(const char *rig_path, const char *name, char path[PATH_SIZE])
{
	const char *slash = strrchr(rig_path, '/');
	const char *folder = slash ? rig_path : "./";
	int len = slash ? (int)(slash - rig_path) + 1 : 2;

	return snprintf(path, PATH_SIZE, "%.*s%s", len, folder, name) < PATH_SIZE;
}

static bool is_file(const char *path)
{
	struct stat is;

	return stat(path, &is) == 0 && S_ISREG(is.st_mode);
}

static int is_rig_entry(const struct dirent *entry)
{
	return is_rig_name(entry->d_name);
}

static void take(const char *rig_path, const char *name, struct rv_rig_folder *folder)
{
	char path[PATH_SIZE];

	if (!place(rig_path, name, path) || !is_file(path))
		return;
	if (folder->count == RV_RIG_FOLDER_FILES)
		folder->more = true;
	else
		snprintf(folder->name[folder->count++], RV_RIG_FOLDER_NAME, "%s", name);
}

enum rv_err rv_rig_folder_list(const char *rig_path, struct rv_rig_folder *folder,
			       struct rv_error *error)
{
	char path[PATH_SIZE];
	struct dirent **entries = NULL;

	if (!place(rig_path, "", path))
		return rv_err_set(error, RV_ERR_RANGE, "the folder's path is too long");
	int count = scandir(path, &entries, is_rig_entry, alphasort);
	if (count < 0)
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot read the folder of rigs: %m");
	folder->count = 0;
	folder->more = false;
	for (int i = 0; i < count; i++) {
		take(rig_path, entries[i]->d_name, folder);
		free(entries[i]);
	}
	free(entries);
	return RV_OK;
}

enum rv_err rv_rig_folder_read(const char *rig_path, const char *name, char **text,
			       struct rv_error *error)
{
	char path[PATH_SIZE];

	if (!is_rig_name(name) || !place(rig_path, name, path) || !is_file(path))
		return rv_err_refuse(error, "not_found",
				     "there is no rig file \"%.60s\" beside the station's own rig",
				     name);
	return rv_whole_file_read(path, text, error);
}
