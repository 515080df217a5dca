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

static int compare(const void *a, const void *b)
{
	return strcmp(a, b);
}

enum rv_err rv_rig_folder_list(const char *rig_path, struct rv_rig_folder *folder,
			       struct rv_error *error)
{
	char path[PATH_SIZE];
	DIR *dir = place(rig_path, "", path) ? opendir(path) : NULL;

	if (!dir)
		return rv_err_set(error, RV_ERR_SYSTEM, "cannot read the folder of rigs: %m");
	folder->count = 0;
	folder->more = false;
	for (struct dirent *entry = readdir(dir); entry; entry = readdir(dir)) {
		if (!is_rig_name(entry->d_name) || !place(rig_path, entry->d_name, path) ||
		    !is_file(path))
			continue;
		folder->more = folder->count == RV_RIG_FOLDER_FILES;
		if (folder->more)
			break;
		snprintf(folder->name[folder->count++], RV_RIG_FOLDER_NAME, "%s", entry->d_name);
	}
	closedir(dir);
	qsort(folder->name, (size_t)folder->count, RV_RIG_FOLDER_NAME, compare);
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
