using System.Globalization;
using System.Reflection;
using System.Runtime.CompilerServices;
using System.Text.Json;
using System.Text.Json.Serialization;
using Hotlight.Records;
using Hotlight.Store.Log;
using Hotlight.Workflows.Records;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata;

namespace Hotlight.Store.Exchange;

/// <summary>Writes everything of a store into files of an open format, and takes it into an empty one, without loss (docs/records.md).</summary>
/// <param name="open">Opens a context of the provider.</param>
/// <param name="log">The exposures in the same store.</param>
public sealed class OpenStore(Func<RecordContext> open, ExposureLog log)
{
    /// <summary>Version of the layout.</summary>
    public const int Version = 1;

    /// <summary>Name of the file that says what the others are.</summary>
    public const string ContentsName = "export.json";

    /// <summary>Most rows kept in one step.</summary>
    private const int AtOnce = 500;

    private static readonly OpenColumn[] ImportColumns =
    [
        new("id", OpenKind.Text), new("site", OpenKind.Text), new("title", OpenKind.Text), new("source", OpenKind.Text), new("at", OpenKind.Text), new("by", OpenKind.Text),
        new("added", OpenKind.Whole), new("completed", OpenKind.Whole), new("known", OpenKind.Whole), new("is_taken_back", OpenKind.Flag),
    ];

    private static readonly OpenColumn[] EntryColumns =
    [
        new("id", OpenKind.Text), new("site", OpenKind.Text), new("key", OpenKind.Text), new("exposed_at", OpenKind.Text), new("projection_id", OpenKind.Text), new("given_projection", OpenKind.Text),
        new("room", OpenKind.Text), new("receptor", OpenKind.Text), new("performer", OpenKind.Text), new("shift", OpenKind.Text), new("age_group", OpenKind.Text), new("use", OpenKind.Text),
        new("is_repeat", OpenKind.Flag), new("reason", OpenKind.Text), new("exposure_index", OpenKind.Number), new("target_exposure_index", OpenKind.Number), new("deviation_index", OpenKind.Number),
        new("tube_voltage_kvp", OpenKind.Number), new("exposure_mas", OpenKind.Number), new("kerma_area_product_dgycm2", OpenKind.Number), new("patient_key", OpenKind.Text),
        new("examination_key", OpenKind.Text), new("case_id", OpenKind.Text), new("source", OpenKind.Text), new("import_id", OpenKind.Text),
    ];

    private static readonly JsonSerializerOptions ContentsOptions = new() { WriteIndented = true, PropertyNamingPolicy = JsonNamingPolicy.CamelCase, Converters = { new JsonStringEnumConverter(JsonNamingPolicy.CamelCase) } };

    /// <summary>Writes everything into a new folder.</summary>
    /// <param name="folder">The folder; it does not exist yet, or is empty.</param>
    /// <param name="format">Format of the files.</param>
    /// <param name="cancellation">Stops it; what was written is removed.</param>
    /// <returns>What was written.</returns>
    /// <exception cref="StoreRefusedException">The folder holds something or cannot be written.</exception>
    public async Task<OpenExport> WriteAsync(string folder, OpenFormat format, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        if (Directory.Exists(folder) && Directory.EnumerateFileSystemEntries(folder).Any())
        {
            throw new StoreRefusedException($"'{folder}' holds something; give the name of a new folder.");
        }

        string part = Path.TrimEndingDirectorySeparator(folder) + ".part";
        try
        {
            if (Directory.Exists(part))
            {
                Directory.Delete(part, recursive: true);
            }

            Directory.CreateDirectory(part);
            var tables = new List<OpenTable>();
            async Task AddAsync(string name, IReadOnlyList<OpenColumn> columns, IAsyncEnumerable<object?[]> rows)
                => tables.Add(new OpenTable(name, columns, await OpenFiles.WriteAsync(Path.Combine(part, name + OpenFiles.EndingOf(format)), format, columns, rows, cancellation)));

            await using (RecordContext context = open())
            {
                foreach (IEntityType type in Ordered(context))
                {
                    await AddAsync(type.GetTableName()!, ColumnsOf(type), RowsOf(context, type, cancellation));
                }
            }

            IReadOnlyList<LogImport> imports = await log.AllImportsAsync(cancellation);
            await AddAsync("imports", ImportColumns, imports.Select(RowOf).ToAsyncEnumerable());
            await AddAsync("entries", EntryColumns, EntriesAsync(cancellation));
            var export = new OpenExport(Version, typeof(OpenStore).Assembly.GetName().Version!.ToString(3), format, tables);
            await File.WriteAllTextAsync(Path.Combine(part, ContentsName), JsonSerializer.Serialize(export, ContentsOptions), cancellation);
            if (Directory.Exists(folder))
            {
                Directory.Delete(folder);
            }

            Directory.Move(part, folder);
            return export;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new StoreRefusedException($"The folder '{folder}' cannot be written: {error.Message}", error);
        }
        finally
        {
            if (Directory.Exists(part))
            {
                Directory.Delete(part, recursive: true);
            }
        }
    }

    /// <summary>Takes everything of an export into an empty store.</summary>
    /// <param name="folder">The folder of the export.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>What was taken.</returns>
    /// <exception cref="StoreRefusedException">The store is not empty, or a file is missing, not what the contents say or cannot be read.</exception>
    public async Task<OpenExport> TakeAsync(string folder, CancellationToken cancellation = default)
    {
        ArgumentException.ThrowIfNullOrWhiteSpace(folder);
        OpenExport export = await ContentsOfAsync(folder, cancellation);
        await using RecordContext context = open();
        IReadOnlyList<IEntityType> types = Ordered(context);
        foreach (IEntityType type in types)
        {
            if (await AnyAsync(context, type, cancellation))
            {
                throw new StoreRefusedException($"The store is not empty ({type.GetTableName()}); an export is taken into a new store only.");
            }
        }

        if (!await log.IsEmptyAsync(cancellation))
        {
            throw new StoreRefusedException("The store has exposures already; an export is taken into a new store only.");
        }

        OpenTable TableOf(string name, IReadOnlyList<OpenColumn> columns)
        {
            OpenTable table = export.Tables.FirstOrDefault(each => each.Name == name) ?? throw new StoreRefusedException($"The export has no table '{name}'.");
            return table.Columns.SequenceEqual(columns) ? table : throw new StoreRefusedException($"The columns of '{name}' are not those of this version of Hotlight.");
        }

        IAsyncEnumerable<object?[]> Read(OpenTable table)
        {
            string path = Path.Combine(folder, table.Name + OpenFiles.EndingOf(export.Format));
            return File.Exists(path)
                ? CountedAsync(table, OpenFiles.ReadAsync(path, export.Format, table.Columns, cancellation), cancellation)
                : throw new StoreRefusedException($"The export's file '{Path.GetFileName(path)}' is missing.");
        }

        // Every table is there before anything is taken.
        List<(IEntityType Type, IAsyncEnumerable<object?[]> Rows)> sources = [.. types.Select(type => (type, Read(TableOf(type.GetTableName()!, ColumnsOf(type)))))];
        IAsyncEnumerable<object?[]> importRows = Read(TableOf("imports", ImportColumns));
        IAsyncEnumerable<object?[]> entryRows = Read(TableOf("entries", EntryColumns));
        try
        {
            await using (Microsoft.EntityFrameworkCore.Storage.IDbContextTransaction transaction = await context.Database.BeginTransactionAsync(cancellation))
            {
                foreach ((IEntityType type, IAsyncEnumerable<object?[]> rows) in sources)
                {
                    await TakeRowsAsync(context, type, rows, cancellation);
                }

                var imports = new List<LogImport>();
                await foreach (object?[] row in importRows)
                {
                    imports.Add(ImportOf(row));
                }

                // The exposures are a step of their own connection. Where writers hold each other off, the cases are kept before it, and the caller throws the new file away if it fails.
                if (context.HoldsWritersOff)
                {
                    await transaction.CommitAsync(cancellation);
                    await log.TakeInAsync(imports, EntriesOf(entryRows, cancellation), cancellation);
                }
                else
                {
                    await log.TakeInAsync(imports, EntriesOf(entryRows, cancellation), cancellation);
                    await transaction.CommitAsync(cancellation);
                }
            }

            return export;
        }
        catch (Exception error) when (error is DbUpdateException or System.Data.Common.DbException or FormatException or InvalidCastException or ArgumentException)
        {
            throw new StoreRefusedException($"A row of the export cannot be kept: {(error.InnerException ?? error).Message}", error);
        }
    }

    private static async Task<OpenExport> ContentsOfAsync(string folder, CancellationToken cancellation)
    {
        try
        {
            OpenExport? export = JsonSerializer.Deserialize<OpenExport>(await File.ReadAllTextAsync(Path.Combine(folder, ContentsName), cancellation), ContentsOptions);
            return export is { Version: Version, Tables: not null } ? export : throw new StoreRefusedException($"'{folder}' holds an export of another version of Hotlight.");
        }
        catch (Exception error) when (error is IOException or JsonException or UnauthorizedAccessException)
        {
            throw new StoreRefusedException($"'{folder}' holds no export: its {ContentsName} cannot be read.", error);
        }
    }

    // What belongs to something stands after it. What is still to be measured follows from the cases: a bench asks for it when it starts.
    private static List<IEntityType> Ordered(RecordContext context)
    {
        var ordered = new List<IEntityType>();
        List<IEntityType> left = [.. context.Model.GetEntityTypes().Where(type => type.ClrType != typeof(MeasuringJobRow) && type.ClrType != typeof(AuditRow) && type.ClrType != typeof(AuditRetentionRow)).OrderBy(type => type.GetTableName(), StringComparer.Ordinal)];
        while (left.Count > 0)
        {
            IEntityType next = left.First(type => type.GetForeignKeys().All(key => key.PrincipalEntityType == type || ordered.Contains(key.PrincipalEntityType)));
            ordered.Add(next);
            left.Remove(next);
        }

        return ordered;
    }

    private static List<IProperty> PropertiesOf(IEntityType type) => [.. type.GetProperties().Where(property => property.PropertyInfo is not null).OrderBy(property => property.PropertyInfo!.MetadataToken)];

    private static OpenColumn[] ColumnsOf(IEntityType type) => [.. PropertiesOf(type).Select(property => new OpenColumn(property.Name, KindOf(property.ClrType)))];

    private static OpenKind KindOf(Type type)
    {
        Type plain = Nullable.GetUnderlyingType(type) ?? type;
        return plain == typeof(bool) ? OpenKind.Flag
            : plain == typeof(double) ? OpenKind.Number
            : plain == typeof(int) || plain == typeof(long) ? OpenKind.Whole
            : plain.IsEnum || plain == typeof(string) || plain == typeof(Guid) || plain == typeof(DateTimeOffset) ? OpenKind.Text
            : throw new NotSupportedException($"A column of {plain.Name} has no open form yet.");
    }

    private static object? Written(object? value) => value switch
    {
        Guid id => id.ToString("D"),
        DateTimeOffset time => time.ToString("O", CultureInfo.InvariantCulture),
        Enum term => term.ToString(),
        int whole => (long)whole,
        _ => value,
    };

    private static object? ReadAs(Type type, object? value)
    {
        Type plain = Nullable.GetUnderlyingType(type) ?? type;
        return value is null ? null
            : plain == typeof(Guid) ? Guid.ParseExact((string)value, "D")
            : plain == typeof(DateTimeOffset) ? DateTimeOffset.ParseExact((string)value, "O", CultureInfo.InvariantCulture)
            : plain.IsEnum ? Enum.Parse(plain, (string)value)
            : plain == typeof(int) ? checked((int)(long)value)
            : value;
    }

    private static IAsyncEnumerable<object?[]> RowsOf(RecordContext context, IEntityType type, CancellationToken cancellation)
        => (IAsyncEnumerable<object?[]>)typeof(OpenStore).GetMethod(nameof(TypedRowsAsync), BindingFlags.NonPublic | BindingFlags.Static)!.MakeGenericMethod(type.ClrType).Invoke(null, [context, type, cancellation])!;

    private static async IAsyncEnumerable<object?[]> TypedRowsAsync<T>(RecordContext context, IEntityType type, [EnumeratorCancellation] CancellationToken cancellation)
        where T : class
    {
        List<IProperty> properties = PropertiesOf(type);
        await foreach (T row in context.Set<T>().AsNoTracking().AsAsyncEnumerable().WithCancellation(cancellation))
        {
            yield return [.. properties.Select(property => Written(property.PropertyInfo!.GetValue(row)))];
        }
    }

    private static Task<bool> AnyAsync(RecordContext context, IEntityType type, CancellationToken cancellation)
        => (Task<bool>)typeof(OpenStore).GetMethod(nameof(TypedAnyAsync), BindingFlags.NonPublic | BindingFlags.Static)!.MakeGenericMethod(type.ClrType).Invoke(null, [context, cancellation])!;

    private static Task<bool> TypedAnyAsync<T>(RecordContext context, CancellationToken cancellation)
        where T : class => context.Set<T>().AnyAsync(cancellation);

    private static async Task TakeRowsAsync(RecordContext context, IEntityType type, IAsyncEnumerable<object?[]> rows, CancellationToken cancellation)
    {
        List<IProperty> properties = PropertiesOf(type);
        int waiting = 0;
        await foreach (object?[] row in rows)
        {
            object entity = RuntimeHelpers.GetUninitializedObject(type.ClrType);
            for (int place = 0; place < row.Length; place++)
            {
                properties[place].PropertyInfo!.SetValue(entity, ReadAs(properties[place].ClrType, row[place]));
            }

            context.Add(entity);
            if (++waiting % AtOnce == 0)
            {
                await context.SaveChangesAsync(cancellation);
                context.ChangeTracker.Clear();
            }
        }

        await context.SaveChangesAsync(cancellation);
        context.ChangeTracker.Clear();
    }

    private static async IAsyncEnumerable<object?[]> CountedAsync(OpenTable table, IAsyncEnumerable<object?[]> rows, [EnumeratorCancellation] CancellationToken cancellation)
    {
        long count = 0;
        await foreach (object?[] row in rows.WithCancellation(cancellation))
        {
            count++;
            yield return row;
        }

        if (count != table.Rows)
        {
            throw new StoreRefusedException($"The export's table '{table.Name}' has {count} rows where {table.Rows} were written.");
        }
    }

    private static object?[] RowOf(LogImport import) =>
    [
        import.Id.ToString("D"), import.Site, import.Title, import.Source.ToString(), import.At.ToString("O", CultureInfo.InvariantCulture), import.By?.ToString("D"),
        import.Added, import.Completed, import.Known, import.IsTakenBack,
    ];

    private static LogImport ImportOf(object?[] row) => new()
    {
        Id = (Guid)ReadAs(typeof(Guid), row[0])!,
        Site = (string)row[1]!,
        Title = (string)row[2]!,
        Source = Enum.Parse<EntrySource>((string)row[3]!),
        At = (DateTimeOffset)ReadAs(typeof(DateTimeOffset), row[4])!,
        By = (Guid?)ReadAs(typeof(Guid?), row[5]),
        Added = (long)row[6]!,
        Completed = (long)row[7]!,
        Known = (long)row[8]!,
        IsTakenBack = (bool)row[9]!,
    };

    private async IAsyncEnumerable<object?[]> EntriesAsync([EnumeratorCancellation] CancellationToken cancellation)
    {
        foreach (LogExtent extent in await log.ExtentsAsync(cancellation))
        {
            await foreach (ExposureEntry entry in log.ReadAsync(new LogQuery { Site = extent.Site }, cancellation))
            {
                yield return
                [
                    entry.Id.ToString("D"), entry.Site, entry.Key, entry.ExposedAt.ToString("yyyy-MM-ddTHH:mm:ss.fffffff", CultureInfo.InvariantCulture), entry.ProjectionId, entry.GivenProjection,
                    entry.Room, entry.Receptor, entry.Performer, entry.Shift.ToString(), entry.AgeGroup.ToString(), entry.Use.ToString(), entry.IsRepeat, entry.Reason?.ToString(),
                    entry.ExposureIndex, entry.TargetExposureIndex, entry.DeviationIndex, entry.TubeVoltageKvp, entry.ExposureMas, entry.KermaAreaProductDgyCm2, entry.PatientKey,
                    entry.ExaminationKey, entry.CaseId?.ToString("D"), entry.Source.ToString(), entry.ImportId?.ToString("D"),
                ];
            }
        }
    }

    private static async IAsyncEnumerable<ExposureEntry> EntriesOf(IAsyncEnumerable<object?[]> rows, [EnumeratorCancellation] CancellationToken cancellation)
    {
        await foreach (object?[] row in rows.WithCancellation(cancellation))
        {
            yield return new ExposureEntry
            {
                Id = (Guid)ReadAs(typeof(Guid), row[0])!,
                Site = (string)row[1]!,
                Key = (string)row[2]!,
                ExposedAt = DateTime.ParseExact((string)row[3]!, "yyyy-MM-ddTHH:mm:ss.fffffff", CultureInfo.InvariantCulture),
                ProjectionId = (string?)row[4],
                GivenProjection = (string?)row[5],
                Room = (string?)row[6],
                Receptor = (string?)row[7],
                Performer = (string?)row[8],
                Shift = Enum.Parse<Shift>((string)row[9]!),
                AgeGroup = Enum.Parse<AgeGroup>((string)row[10]!),
                Use = Enum.Parse<ExposureUse>((string)row[11]!),
                IsRepeat = (bool)row[12]!,
                Reason = row[13] is string reason ? Enum.Parse<RejectReason>(reason) : null,
                ExposureIndex = (double?)row[14],
                TargetExposureIndex = (double?)row[15],
                DeviationIndex = (double?)row[16],
                TubeVoltageKvp = (double?)row[17],
                ExposureMas = (double?)row[18],
                KermaAreaProductDgyCm2 = (double?)row[19],
                PatientKey = (string?)row[20],
                ExaminationKey = (string?)row[21],
                CaseId = (Guid?)ReadAs(typeof(Guid?), row[22]),
                Source = Enum.Parse<EntrySource>((string)row[23]!),
                ImportId = (Guid?)ReadAs(typeof(Guid?), row[24]),
            };
        }
    }
}
